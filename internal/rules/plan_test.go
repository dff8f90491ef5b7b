package rules_test

import (
	"testing"

	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// planned gives a tank a plan made on day 0: 8 degrees from day 2 on, in two
// steps, and an index that rises by perDay.
func planned(t *tank, at0, perDay float64) *tank {
	p := &logbook.Plan{MadeOn: day(0), Goal: logbook.GoalSwimUp, By: day(60), SwimUpOn: day(58),
		Steps: []logbook.PlanStep{{On: day(1), Setpoint: 7.6}, {On: day(2), Setpoint: 8}}}
	for n := range 60 {
		p.Targets = append(p.Targets, logbook.PlanTarget{Temperature: 8, Index: at0 + perDay*float64(n)})
	}
	t.Plan = p
	return t
}

// behind is a forecast whose index today is half of a tenth lower than planned.
func behind(today int) *forecast.Result {
	f := line(today, 0.55, 0.01)
	f.Index = 0.55 + 0.01*float64(today)
	return f
}

func setTo(c float64) func(*logbook.Event) {
	return func(e *logbook.Event) { e.Setpoint = units.Some(units.Celsius(c)) }
}

// A step is due from its day until a change is logged; the newest step counts,
// and one that was done early is not asked for again.
func TestPlanStepIsDueUntilLogged(t *testing.T) {
	wantNot(t, planned(newTank().calm(0, 0), 0.6, 0.01).assess(0), "plan_step")
	want(t, planned(newTank().calm(0, 1), 0.6, 0.01).assess(1), "plan_step", rules.Due, day(1))
	f := want(t, planned(newTank().calm(0, 5), 0.6, 0.01).event(1, logbook.SetpointChange, setTo(7.6)).assess(5),
		"plan_step", rules.Due, day(2))
	if f.Headline.Args["Setpoint"] != units.Celsius(8) {
		t.Errorf("asks for %v", f.Headline.Args)
	}
	wantNot(t, planned(newTank().calm(0, 1), 0.6, 0.01).event(1, logbook.SetpointChange, setTo(7.6)).assess(1),
		"plan_step")
	wantNot(t, planned(newTank().calm(0, 9), 0.6, 0.01).event(4, logbook.SetpointChange, setTo(7.8)).assess(9),
		"plan_step")
	wantNot(t, planned(newTank().calm(0, 9), 0.6, 0.01).event(1, logbook.SetpointChange, setTo(8)).assess(9),
		"plan_step")
	ended := planned(newTank().calm(0, 9), 0.6, 0.01)
	ended.Plan.EndedOn = day(8)
	wantNot(t, ended.assess(9), "plan_step")
	if got := ended.assess(7); flag(got, "plan_step") == nil {
		t.Error("a plan that had not ended then asks for nothing")
	}
}

// Behind by more than the doubt and by a day is a watch; ahead, within the doubt
// or by hours is not. Planned 0.7 on day 10 at 0.01 a day.
func TestBehindThePlan(t *testing.T) {
	at := func(index, sd float64) rules.Assessment {
		f := line(10, index-0.1, 0.01)
		f.Index, f.IndexSD = index, sd
		for i := range f.Days {
			f.Days[i].Temperature = units.Some[units.Celsius](7)
		}
		return planned(newTank().calm(0, 10), 0.6, 0.01).assessWith(10, f, nil)
	}
	f := want(t, at(0.66, 0.01), "plan_behind", rules.Watch, day(0))
	if f.Headline.Args["Count"] != 4 {
		t.Errorf("behind by %v days, 4 expected", f.Headline.Args["Count"])
	}
	wantNot(t, at(0.66, 0.05), "plan_behind")  // within the doubt: 1.28 * 0.05 > 0.04
	wantNot(t, at(0.695, 0), "plan_behind")    // half a day
	wantNot(t, at(0.74, 0.001), "plan_behind") // ahead
	checkTexts(t, *f)
	g := want(t, planned(newTank().calm(0, 3), 0.6, 0.01).assess(3), "plan_step", rules.Due, day(2))
	checkTexts(t, *g)
}

// The plan of a forecast, stored and read, lags by nothing on its first day.
func TestPlanStartsLevel(t *testing.T) {
	tk := newTank().calm(0, 10)
	tk.Deliveries[0].ThermalUnits, tk.Deliveries[0].MeanTemperature = units.Some[units.ThermalUnits](300),
		units.Some[units.Celsius](6)
	r := forecast.Compute(forecast.Input{Season: &tk.Season, Today: day(10)})
	safe := forecast.Range{Min: 4, Max: 10}
	in := forecast.PlanFrom(&tk.Season, &r, r.SwimUp.P50.AddDays(-6), safe, safe, 1)
	p, err := forecast.Plan(in)
	if err != nil || !p.Reachable || len(p.Steps) == 0 {
		t.Fatalf("%+v, %v", p, err)
	}
	stored := p.Stored(&tk.Season, in, logbook.GoalSwimUp)
	if problems := stored.Validate(); len(problems) > 0 {
		t.Fatal(problems)
	}
	back := forecast.PlanOf(&stored)
	days, _, ok := back.Lag(&r)
	if !ok || days > 0.2 || days < -0.2 {
		t.Errorf("lag on the first day %.2f, %v", days, ok)
	}
	if back.Steps[0] != p.Steps[0] || back.P50 != p.P50 {
		t.Errorf("read back %+v", back.Steps)
	}
}
