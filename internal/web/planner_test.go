package web

import (
	"context"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// asked is the address of a question to the planner.
func asked(s *logbook.Season, pairs ...string) string {
	f := fields("asked", "yes", "goal", "swim_up", "max_step", "1", "weekends", "yes")
	for i := 0; i+1 < len(pairs); i += 2 {
		f.Set(pairs[i], pairs[i+1])
	}
	return seasonPath(s, "plan?"+f.Encode())
}

// wanted is a day of swim-up some days before or after the one that is forecast.
func (ts *testServer) wanted(days int) civil.Date {
	a, err := ts.Assess.Assess(context.Background(), ts.load(ts.one), ts.clockAt())
	ts.must(err)
	return a.Forecast.SwimUp.P50.AddDays(days)
}

func (ts *testServer) flagOf(s *logbook.Season, rule string) *rules.Flag {
	a, err := ts.Assess.Assess(context.Background(), ts.load(s), ts.clockAt())
	ts.must(err)
	for i := range a.Assessment.Flags {
		if a.Assessment.Flags[i].Rule == rule {
			return &a.Assessment.Flags[i]
		}
	}
	return nil
}

// From a question to a plan that is followed, asked for on its days, shown on
// the chart, and ended.
func TestPlanIsMadeFollowedAndEnded(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	b := ts.as(ts.keeper)
	day := ts.wanted(-8)
	p := b.get(asked(ts.one, "by", day.String())).want(t, 200, "Bring the water to", "Changes of the setpoint",
		"Use this plan", "If nothing changes",
		"Half a degree", "An adult sets the chiller", "permit and local rules", "4.0\u00a0°C to 10.0\u00a0°C")
	if n := len(ts.load(ts.one).Guesses); ts.load(ts.one).Plan != nil || n != 0 {
		t.Fatal("looking stored something")
	}
	use := p.hidden()
	b.post(seasonPath(ts.one, "plan"), use).want(t, 303)
	b.get(seasonPath(ts.one, "plan")).want(t, 200, "The plan is stored", "The plan in use",
		"Followed since Tuesday 10 February", "The tank keeps to the plan")
	plan := ts.load(ts.one).Plan
	if plan == nil || len(plan.Steps) == 0 || plan.SwimUpOn.After(day) {
		t.Fatalf("stored plan %+v", plan)
	}
	for _, st := range plan.Steps {
		if w := st.On.Weekday(); w == time.Saturday || w == time.Sunday {
			t.Errorf("a step on %s, a weekend", st.On)
		}
	}
	if f := ts.flagOf(ts.one, "plan_step"); f != nil {
		t.Error("a step is due before its day")
	}
	b.get(seasonPath(ts.one, "chart.json?name=chart-temperature")).want(t, 200, `"planned"`)

	first := plan.Steps[0]
	ts.at(testNow.Add(time.Duration(first.On.Sub(civil.MustParse(testDay))) * 24 * time.Hour))
	f := ts.flagOf(ts.one, "plan_step")
	if f == nil || f.Kind != rules.Due || f.Since != first.On {
		t.Fatalf("no step is due on %s: %+v", first.On, f)
	}
	b.get("/seasons/"+string(ts.one.ID)).want(t, 200, "Set the chiller to "+
		ts.Cat.Printer("en", units.Cel).Temp(first.Setpoint))
	e := fields("kind", "setpoint_change", "on", first.On.String(), "setpoint",
		strings.ReplaceAll(ts.Cat.Printer("en", units.Cel).TempNumber(first.Setpoint), "−", "-"))
	b.post(seasonPath(ts.one, "events"), e).want(t, 303)
	if ts.flagOf(ts.one, "plan_step") != nil {
		t.Error("the step is due though its change is logged")
	}

	p = b.get(seasonPath(ts.one, "plan"))
	end := fields("revision", p.hidden().Get("revision"), "reason", "")
	b.post(seasonPath(ts.one, "plan/end"), end).want(t, 422, "Why does the plan end?")
	end.Set("reason", "the chiller broke")
	b.post(seasonPath(ts.one, "plan/end"), end).want(t, 303)
	b.get(seasonPath(ts.one, "plan")).want(t, 200, "The plan has ended").lacks(t, "The plan in use")
	b.post(seasonPath(ts.one, "plan/end"), end).want(t, 404)
}

// A tank that stays cold falls behind its plan, and the page and the flag say so.
func TestTankBehindItsPlan(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	b := ts.as(ts.keeper)
	p := b.get(asked(ts.one, "by", ts.wanted(-12).String())).want(t, 200, "Use this plan")
	b.post(seasonPath(ts.one, "plan"), p.hidden()).want(t, 303)
	for n := range 35 { // the chiller stands at 5 degrees
		on := civil.MustParse(testDay).AddDays(n)
		ts.look(ts.one, on.String(), func(c *logbook.Check) { c.Temperature = units.Some[units.Celsius](5) })
		ts.at(testNow.Add(time.Duration(n) * 24 * time.Hour))
	}
	f := ts.flagOf(ts.one, "plan_behind")
	if f == nil || f.Kind != rules.Watch {
		t.Fatalf("nothing says that the tank is behind: %+v", f)
	}
	b.get(seasonPath(ts.one, "plan")).want(t, 200, "behind the plan. That is more than the doubt.")
}

func TestPlanRefusesPlainly(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	b := ts.as(ts.keeper)
	soon := civil.MustParse("2026-02-20")
	a, err := ts.Assess.Assess(context.Background(), ts.load(ts.one), testNow)
	ts.must(err)
	safe := forecast.Range{Min: 4, Max: 10}
	in := forecast.PlanFrom(ts.load(ts.one), &a.Forecast, soon, safe, safe, 1)
	fastest, err := forecast.Plan(in)
	ts.must(err)
	en := ts.Cat.Printer("en", units.Cel)
	p := b.get(asked(ts.one, "by", soon.String())).want(t, 200,
		"Friday 20 February cannot be reached in safe water. The nearest possible day is "+
			en.DateWeekday(fastest.Earliest))
	p.lacks(t, "Use this plan")
	f := fields("goal", "swim_up", "by", soon.String(), "max_step", "1", "weekends", "yes")
	b.post(seasonPath(ts.one, "plan"), f).want(t, 422, "cannot be reached in safe water", `value="2026-02-20"`)
	if ts.load(ts.one).Plan != nil {
		t.Error("a plan that cannot be kept is stored")
	}
	for _, x := range []struct{ name, value, text string }{
		{"by", "2026-02-10", "The wanted day must be later than 10 February 2026"},
		{"by", "2026-02-30", "There is no such day"},
		{"by", "", "Enter the date"},
		{"by", "2029-01-01", "too far ahead"},
		{"max_step", "0", "must be above 0"},
		{"max_step", "5", "The largest change in one day is 1.0"},
		{"goal", "", ""},
	} {
		g := url.Values{}
		for k, v := range f {
			g[k] = v
		}
		g.Set("by", ts.wanted(-5).String())
		g.Set(x.name, x.value)
		b.post(seasonPath(ts.one, "plan"), g).want(t, 422, x.text, `id="summary"`)
	}
	ts.as(ts.class).get(seasonPath(ts.one, "plan")).want(t, 403)
	ts.as(ts.birchKeeper).get(seasonPath(ts.one, "plan")).want(t, 404)
	ts.as(ts.birchKeeper).post(seasonPath(ts.one, "plan"), f).want(t, 404)
}

// The days of release come from the season; all fry swim by then.
func TestPlanForRelease(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	s := ts.load(ts.one)
	s.ReleaseFrom, s.ReleaseBy = ts.wanted(5), ts.wanted(20)
	_, err := ts.DB.UpdateSeason(context.Background(), ts.coordinator, *s, testNow)
	ts.must(err)
	b := ts.as(ts.keeper)
	p := b.get(seasonPath(ts.one, "plan")).want(t, 200, "So they can be released from", "Use this plan",
		`value="`+s.ReleaseFrom.String()+`"`)
	b.post(seasonPath(ts.one, "plan"), p.hidden()).want(t, 303)
	plan := ts.load(ts.one).Plan
	if plan.Goal != logbook.GoalRelease || plan.By != s.ReleaseFrom || !plan.SwimUpOn.Before(plan.By) {
		t.Errorf("plan %+v", plan)
	}
	fr := ts.as(ts.keeper)
	fr.lang = "fr"
	fr.get(seasonPath(ts.one, "plan")).want(t, 200, "Plan de consigne pour Tank 1", "Le plan en cours",
		"remise à l’eau").lacks(t, "[plan", "Setpoint")
	// Fahrenheit: the field and its limit are in the unit of the reader.
	far := ts.as(ts.birchKeeper)
	ts.warmWeeks(ts.far)
	q := far.get(seasonPath(ts.far, "plan")).want(t, 200, "(°F)", `value="1.8"`)
	if regexp.MustCompile(`class="problem"`).MatchString(q.Body) {
		t.Error("the default is refused in Fahrenheit")
	}
}

// A step that is sent twice is stored once.
func TestPlanIsStoredOnce(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	b := ts.as(ts.keeper)
	use := b.get(asked(ts.one, "by", ts.wanted(-6).String())).hidden()
	b.post(seasonPath(ts.one, "plan"), use).want(t, 303)
	b.post(seasonPath(ts.one, "plan"), use).want(t, 303)
	plans, err := ts.DB.Plans(context.Background(), ts.one.ID)
	if err != nil || len(plans) != 1 {
		t.Errorf("%d plans, %v", len(plans), err)
	}
}

// The JSON interface and the page use the same planner.
func TestPlanThroughJSON(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	c := ts.program(ts.keeper)
	path := "/seasons/" + string(ts.one.ID) + "/plan"
	c.get(path).want(t, 200, `"plan":null`)
	day := ts.wanted(-8)
	c.post(path, `{"goal":"swim_up","wanted_on":"`+day.String()+`","skip_weekends":true}`).want(t, 201, `"wanted_on":"`+
		day.String()+`"`)
	c.get(path).want(t, 200, `"lag_days":0`, `"beyond_doubt":false`)
	c.post(path, `{"goal":"swim_up","wanted_on":"2026-02-20"}`).wantProblem(t, 422, "wanted_on",
		"plan_page.refused").want(t, 422, "The nearest possible day")
	c.post(path, `{"goal":"swim_up","wanted_on":"2026-02-20","max_step_c_per_day":9}`).wantProblem(t, 422,
		"max_step_c_per_day", "plan_page.step_most")
	if got := ts.load(ts.one).Plan; got == nil || got.By != day {
		t.Errorf("plan %+v", got)
	}
	ts.program(ts.class).get(path).want(t, 403)
	ts.program(ts.birchKeeper).get(path).want(t, 404)
	ts.program(ts.class).get("/seasons/"+string(ts.one.ID)+"/forecast").want(t, 200, `"doubt":[{"kind":"lot"`,
		`"learning":{"lot_factor":1`, `"first":"`)
}
