package report

import (
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// Sheet is the report of one season to the end of a day: what came, how it went,
// and what left.
type Sheet struct {
	Season       *logbook.Season
	UpTo         civil.Date // the day, or the close when that was before
	Totals       logbook.Totals
	Deaths       Deaths
	Causes       []CauseDeaths
	Survival     Survival
	SurvivalOK   bool // false when nothing came, or when the account does not hold
	Completeness Completeness
	Temperatures Temperatures
	Steps        []Step
	Water        []logbook.Check // checks with a water test
	// Judged are the limits in force that each of Water lies outside of, and
	// Unjudged those whose ammonia cannot be judged.
	Judged   [][]rules.WaterJudgement
	Unjudged []bool
	Released []logbook.Event
}

// Deaths are the dead removed, by what they were when they were found.
type Deaths struct{ Eggs, Alevins, Fry int }

// Sum is all of them.
func (d Deaths) Sum() int { return d.Eggs + d.Alevins + d.Fry }

// CauseDeaths are the dead of the checks that name one cause; "" for those that
// name none.
type CauseDeaths struct {
	Cause logbook.DeadCause
	Deaths
}

// CausesOf shares the dead out by cause, to the end of a day. Causes without dead
// are left out; the sum is that of DeathsOf.
func CausesOf(s *logbook.Season, today civil.Date) []CauseDeaths {
	var out []CauseDeaths
	for _, cause := range append(logbook.DeadCauses(), "") {
		x := CauseDeaths{Cause: cause}
		for i := range s.Checks {
			if c := &s.Checks[i]; c.DeadCause == cause && !c.On.After(today) {
				x.Eggs += c.DeadEggs.V
				x.Alevins += c.DeadAlevins.V
				x.Fry += c.DeadFry.V
			}
		}
		if x.Sum() > 0 {
			out = append(out, x)
		}
	}
	return out
}

// Temperatures sums up what was measured. Lowest, Highest and Mean are of the
// checks and the good readings of loggers, each counted once.
type Temperatures struct {
	Checks, Readings      int
	Suspect               int // readings left out
	Lowest, Highest, Mean units.Optional[units.Celsius]
	Excursions            []rules.Excursion
	DegreeHours           float64 // of all excursions, K h
}

// Step is a dated thing of the season: a delivery, something done, or something
// seen or forecast of the eggs.
type Step struct {
	On       civil.Date
	Delivery *logbook.Delivery // one of these three is set
	Event    *logbook.Event
	Seen     forecast.Event
	// ThermalUnits are those of the end of the day, since fertilisation; absent
	// when they are not known.
	ThermalUnits units.Optional[units.ThermalUnits]
	Index        units.Optional[float64]
}

// SheetOf makes the report of a season as of a day. The forecast is that of the
// same day.
func SheetOf(s *logbook.Season, today civil.Date, f *forecast.Result, p *rules.Profile) Sheet {
	r := Sheet{Season: s, UpTo: today, Totals: s.TotalsOn(today), Completeness: CompletenessOf(s, today, false)}
	if !s.ClosedOn.IsZero() {
		r.UpTo = civil.Min(today, s.ClosedOn)
	}
	r.Survival, r.SurvivalOK = SurvivalOf(s, today)
	r.Deaths, r.Causes = DeathsOf(s, today), CausesOf(s, today)
	r.Temperatures = temperaturesOf(s, today)
	r.Temperatures.Excursions = rules.Excursions(s, today, f, p)
	for _, e := range r.Temperatures.Excursions {
		r.Temperatures.DegreeHours += e.DegreeHours
	}
	for i := range s.Checks {
		if c := &s.Checks[i]; !c.On.After(today) && c.Tested() {
			r.Water = append(r.Water, *c)
		}
	}
	r.Judged, r.Unjudged = rules.JudgeWater(rules.Input{Season: s, Today: today, Forecast: f, Profile: p}, r.Water)
	for i := range s.Events {
		if e := &s.Events[i]; e.Kind == logbook.Released && !e.On.After(today) {
			r.Released = append(r.Released, *e)
		}
	}
	r.Steps = stepsOf(s, today, f)
	return r
}

// DeathsOf counts the dead removed to the end of a day.
func DeathsOf(s *logbook.Season, today civil.Date) Deaths {
	var d Deaths
	for i := range s.Checks {
		c := &s.Checks[i]
		if c.On.After(today) {
			continue
		}
		d.Eggs += c.DeadEggs.V
		d.Alevins += c.DeadAlevins.V
		d.Fry += c.DeadFry.V
	}
	return d
}

func temperaturesOf(s *logbook.Season, today civil.Date) Temperatures {
	var t Temperatures
	sum := 0.0
	add := func(v units.Celsius) {
		if n := t.Checks + t.Readings; n == 0 || v < t.Lowest.V {
			t.Lowest = units.Some(v)
		}
		if n := t.Checks + t.Readings; n == 0 || v > t.Highest.V {
			t.Highest = units.Some(v)
		}
		sum += float64(v)
	}
	for i := range s.Checks {
		if c := &s.Checks[i]; !c.On.After(today) && c.Temperature.OK {
			add(c.Temperature.V)
			t.Checks++
		}
	}
	for i := range s.Readings {
		switch r := &s.Readings[i]; {
		case r.On.After(today):
		case r.Quality == logbook.Suspect:
			t.Suspect++
		default:
			add(r.Temperature)
			t.Readings++
		}
	}
	if n := t.Checks + t.Readings; n > 0 {
		t.Mean = units.Some(units.Celsius(sum / float64(n)))
	}
	return t
}

// stepsOf lists the steps by day.
func stepsOf(s *logbook.Season, today civil.Date, f *forecast.Result) []Step {
	var out []Step
	add := func(x Step) {
		if x.On.IsZero() || x.On.After(today) {
			return
		}
		if d := f.DayOn(x.On); d != nil {
			x.Index = units.Some(d.Index)
			if f.ThermalUnitsKnown {
				x.ThermalUnits = units.Some(d.ThermalUnits)
			}
		}
		at := len(out)
		for at > 0 && out[at-1].On.After(x.On) {
			at--
		}
		out = append(out[:at], append([]Step{x}, out[at:]...)...)
	}
	for i := range s.Deliveries {
		add(Step{On: s.Deliveries[i].On, Delivery: &s.Deliveries[i]})
	}
	if f.Ok() {
		for _, e := range forecast.Events() {
			if w := f.Window(e); !w.Observed.IsZero() {
				add(Step{On: w.Observed.OnOrBefore, Seen: e})
			}
		}
	}
	for i := range s.Events {
		add(Step{On: s.Events[i].On, Event: &s.Events[i]})
	}
	return out
}

// Line is one season in the table of a school or of the programme.
type Line struct {
	Season       *logbook.Season
	Totals       logbook.Totals
	Deaths       Deaths
	Share        Share
	ShareOK      bool
	Completeness Completeness
	// DegreeHours outside the range, K h; absent without logger readings.
	DegreeHours units.Optional[float64]
}

// LineOf sums a season up to the end of a day. f and p are only asked, and may be
// nil, when the season has no logger readings; the forecast is that of the day.
func LineOf(s *logbook.Season, today civil.Date, f *forecast.Result, p *rules.Profile) Line {
	l := Line{Season: s, Totals: s.TotalsOn(today), Deaths: DeathsOf(s, today), Completeness: CompletenessOf(s, today,
		false)}
	var v Survival
	if v, l.ShareOK = SurvivalOf(s, today); l.ShareOK {
		l.Share = v.Season
	}
	if len(s.Readings) > 0 {
		l.DegreeHours.OK = true
		for _, e := range rules.Excursions(s, today, f, p) {
			l.DegreeHours.V += e.DegreeHours
		}
	}
	return l
}

// Sum adds the counts of lines up. A survival of many tanks together is not
// given: tanks of different lots are not one sample.
func Sum(lines []Line) Line {
	var t Line
	for i := range lines {
		l := &lines[i]
		t.Totals.Delivered += l.Totals.Delivered
		t.Totals.MovedIn += l.Totals.MovedIn
		t.Totals.Alive += l.Totals.Alive
		t.Totals.Dead += l.Totals.Dead
		t.Totals.MovedOut += l.Totals.MovedOut
		t.Totals.Sampled += l.Totals.Sampled
		t.Totals.Released += l.Totals.Released
		t.Totals.Unexplained += l.Totals.Unexplained
		t.Deaths.Eggs += l.Deaths.Eggs
		t.Deaths.Alevins += l.Deaths.Alevins
		t.Deaths.Fry += l.Deaths.Fry
		t.Completeness.DaysDue += l.Completeness.DaysDue
		t.Completeness.DaysChecked += l.Completeness.DaysChecked
		t.Completeness.Checks += l.Completeness.Checks
		t.Completeness.Corrected += l.Completeness.Corrected
		t.Completeness.Late += l.Completeness.Late
		t.Completeness.LongestGap = max(t.Completeness.LongestGap, l.Completeness.LongestGap)
		if l.DegreeHours.OK {
			t.DegreeHours = units.Some(t.DegreeHours.V + l.DegreeHours.V)
		}
	}
	if c := &t.Completeness; c.DaysDue > 0 {
		c.Share = float64(c.DaysChecked) / float64(c.DaysDue)
	}
	if c := &t.Completeness; c.Checks > 0 {
		c.LatePct, c.CorrectedPct = 100*float64(c.Late)/float64(c.Checks), 100*float64(c.Corrected)/float64(c.Checks)
	}
	return t
}
