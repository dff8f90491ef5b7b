package rules_test

import (
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// workdays adds checks with these temperatures on school days from day n on, and
// returns the day of the last.
func (t *tank) workdays(n int, edit func(*logbook.Check), celsius ...float64) int {
	last := n
	for _, v := range celsius {
		for w := day(n).Weekday(); w == 0 || w == 6; w = day(n).Weekday() {
			n++
		}
		t.check(n, func(c *logbook.Check) {
			warm(c, v)
			if edit != nil {
				edit(c)
			}
		})
		last, n = n, n+1
	}
	return last
}

// A Friday with the water 2 C above setpoint and rising for four days: act, says
// that the chiller can hum and not cool, and that nobody looks until Monday.
func TestFridayWarmAndRising(t *testing.T) {
	tk := newTank()
	hums := func(c *logbook.Check) { c.Chiller = logbook.Running }
	friday := tk.workdays(0, hums, 7, 7.1, 6.9, 7, 7.1, 7, 7.5, 8, 8.5, 9)
	if day(friday).Weekday() != 5 {
		t.Fatal("not a Friday")
	}
	a := tk.assess(friday)
	f := want(t, a, "temperature_departure", rules.Act, day(friday-3))
	if a.Status != rules.StatusAct || f.Headline.Key != "rule.temperature_departure.headline_warmer_running" {
		t.Errorf("%s %s", a.Status, f.Headline.Key)
	}
	if f.Why.Key != "rule.temperature_departure.why_off" || f.Why.Args["On"] != day(friday+3) ||
		f.Within.Key != "rules.within.now" {
		t.Errorf("does not say that nobody looks until Monday: %v, %v", f.Why, f.Within)
	}
	checkTexts(t, *f)
}

// The same departure is watched on a Thursday and acted on on a Friday, which says
// so; a school that looks on weekends, or a day off in the week, moves it.
func TestStricterBeforeDaysOff(t *testing.T) {
	at := func(n int, edit func(*tank)) *rules.Flag {
		tk := newTank()
		if edit != nil {
			edit(tk)
		}
		for d := range n {
			tk.temps(d, 7+0.1*float64(d*7%5-2))
		}
		return flag(tk.temps(n, 10.43).assess(n), "temperature_departure")
	}
	if f := at(10, nil); f == nil || f.Kind != rules.Watch {
		t.Errorf("Thursday: %+v", f)
	}
	f := at(11, nil)
	if f == nil || f.Kind != rules.Act || f.Why.Key != "rule.temperature_departure.why_eve" ||
		f.Why.Args["On"] != day(14) {
		t.Fatalf("Friday: %+v", f)
	}
	checkTexts(t, *f)
	if f := at(11, func(tk *tank) { tk.Site.Weekends = logbook.WeekendsLookedAt }); f == nil || f.Kind != rules.Watch {
		t.Errorf("Friday of a school that looks on Saturday: %+v", f)
	}
	if f := at(10, func(tk *tank) { closed(tk, 11, 11) }); f == nil || f.Kind != rules.Act {
		t.Errorf("Thursday before a closed Friday: %+v", f)
	}
}

// A setpoint changed on purpose is no act: entered, nothing is said; not entered, it
// asks.
func TestSetpointChangedOnPurpose(t *testing.T) {
	for _, to := range []float64{5.5, 8.5, 9} {
		for _, entered := range []bool{true, false} {
			tk := newTank().calm(0, 14)
			if entered {
				tk.event(15, logbook.SetpointChange,
					func(e *logbook.Event) { e.Setpoint = units.Some(units.Celsius(to)) })
			}
			for i := range 8 {
				tk.temps(15+i, to+0.1*float64(i*7%5-2))
				f := flag(tk.assess(15+i), "temperature_departure")
				switch {
				case entered && f != nil:
					t.Errorf("to %v, entered, day %d: %s", to, i, f.Kind)
				case f != nil && f.Kind == rules.Act:
					t.Errorf("to %v, not entered, day %d: act", to, i)
				case !entered && i > 0 && (f == nil || f.Do[1].Key != "rules.do.check_setpoint"):
					t.Errorf("to %v, not entered, day %d: does not ask: %+v", to, i, f)
				}
			}
		}
	}
}

// The logger alone tells it as well, and a dead chiller is told at the first look.
func TestLoggerAndDeadChiller(t *testing.T) {
	tk := newTank()
	for n := range 20 {
		v := 7 + 0.1*float64(n*7%5-2)
		if n >= 15 {
			v += 0.6 * float64(n-14)
		}
		tk.Readings = append(tk.Readings, logbook.Reading{On: day(n), Temperature: units.Celsius(v)})
	}
	want(t, tk.assess(19), "temperature_departure", rules.Act, sinceOf(tk.assess(19)))
	// 20 C in the room, 36 h: after a day 7 + 13*(1-exp(-24/36)) = 13.3.
	want(t, newTank().calm(0, 9).temps(10, 11.6).assess(10), "temperature_departure", rules.Act, day(10))
}

func sinceOf(a rules.Assessment) civil.Date {
	if f := flag(a, "temperature_departure"); f != nil {
		return f.Since
	}
	return civil.Date{}
}

// Headlines fit the time of the season: the journey, starving fry, never fuzz on
// eggs of a tank without eggs.
func TestDeadHeadlinesFitTheSeason(t *testing.T) {
	dead := func(n int, s logbook.Stage, fuzz logbook.Observation) func(*logbook.Check) {
		return func(c *logbook.Check) { warm(c, 7); c.DeadEggs, c.Stage, c.Fungus = units.Some(n), s, fuzz }
	}
	fryTank := newTank()
	for n := range 40 {
		fryTank.check(n, dead(0, logbook.Fry, logbook.NotSeen))
	}
	for _, c := range []struct {
		tank *tank
		on   int
		key  string
	}{
		{newTank().check(2, dead(25, logbook.EyedEgg, logbook.NotSeen)), 2, "journey"},
		{fryTank.check(40, dead(12, logbook.Fry, logbook.NotSeen)), 40, "starving"},
		{(&tank{fryTank.Season}).check(41, dead(12, logbook.Fry, logbook.Seen)), 41, "fuzz"},
	} {
		f := flag(c.tank.assess(c.on), "dead_count")
		if f == nil || f.Headline.Key != "rule.dead_count.headline_"+c.key {
			t.Errorf("%s: %+v", c.key, f)
			continue
		}
		checkTexts(t, *f)
	}
	// One of 200 a day: too few for three checks to be act, not for the second clock.
	slow := newTank().calm(0, 13)
	for n := 14; n < 26; n++ {
		slow.check(n, dead(1, logbook.EyedEgg, logbook.NotSeen))
	}
	if f := flag(slow.assess(25), "dead_count"); f == nil || f.Kind != rules.Act {
		t.Errorf("one a day for twelve days: %+v", f)
	} else {
		checkTexts(t, *f)
	}
}

// A flag set aside about the setpoint must not hide deadly water; what is said and
// asked for fits the direction, the chiller and the setpoint that the tank has.
func TestDepartureFitsTheTank(t *testing.T) {
	noChiller := func(tk *tank) *tank { tk.Tank.HasChiller = false; return tk }
	yes := func(steps ...string) []string { return steps }
	cold := yes("check_setpoint", "record_setpoint", "check_ice", "slow_warm")
	warmSteps := yes("check_setpoint", "record_setpoint", "check_vents", "check_ice", "sealed_ice", "slow_change")
	for _, c := range []struct {
		name, rule, why string
		tank            *tank
		on              int
		do, not         []string
	}{
		{"warm", "temperature_departure", "why", newTank().temps(0, 7, 7.1, 9.6), 2, warmSteps, yes("slow_warm")},
		{"cold", "temperature_departure", "why_colder", newTank().temps(0, 7, 7.1, 4.6), 2, cold,
			yes("sealed_ice", "slow_change", "check_vents")},
		{"warm, no chiller", "temperature_departure", "why_usual", noChiller(newTank()).temps(0, 7, 7.1, 9.6), 2,
			yes("sealed_ice"),
			yes("check_setpoint", "record_setpoint", "check_vents", "check_ice")},
		{"warm, no setpoint", "temperature_departure", "why_usual", free(newTank()).temps(0, 5, 5.1, 4.9, 5, 5.1, 5,
			8.6), 6, yes("sealed_ice"), yes("slow_warm")},
		{"deadly, hums", "temperature_high", "why_running", newTank().check(0, running(7)).check(1, running(13)), 1,
			yes("check_chiller", "check_vents", "slow_change"), nil},
		{"deadly", "temperature_high", "why", newTank().temps(0, 7, 13), 1, yes("check_chiller", "sealed_ice"), nil},
	} {
		f := flag(c.tank.assess(c.on), c.rule)
		if f == nil {
			t.Errorf("%s: no %s: %v", c.name, c.rule, names(c.tank.assess(c.on)))
			continue
		}
		checkTexts(t, *f)
		if want := "rule." + c.rule + "." + c.why; f.Why.Key != want {
			t.Errorf("%s: says %s, want %s", c.name, f.Why.Key, want)
		}
		got := effects(f.Do)
		for _, id := range c.do {
			if _, ok := got[id]; !ok {
				t.Errorf("%s: no %s", c.name, id)
			}
		}
		for _, id := range c.not {
			if _, ok := got[id]; ok {
				t.Errorf("%s: %s", c.name, id)
			}
		}
	}
}

// A thermometer that reads 2 C under the setpoint all winter and now shows the
// setpoint tells of warming: a chiller seen stopped then is not at rest, and no step
// keeps the water from being cooled.
func TestStoppedChillerUnderAnOffset(t *testing.T) {
	tk := newTank()
	for n := range 110 {
		tk.temps(n, 5+0.1*float64(n*7%5-2))
	}
	tk.check(110, func(c *logbook.Check) { warm(c, 7.4); c.Chiller = logbook.Stopped })
	f := want(t, tk.assess(110), "chiller_stopped", rules.Act, day(110))
	checkTexts(t, *f)
	if _, ok := effects(f.Do)["sealed_ice"]; !ok {
		t.Errorf("no ice: %v", f.Do)
	}
	tk.Checks[110].Chiller = ""
	warm(&tk.Checks[110], 7.4)
	got := tk.assess(110)
	if got.Situation.Cold {
		t.Error("cold, though warmer than all winter")
	}
	want(t, got, "temperature_departure", flag(got, "temperature_departure").Kind, day(110))
}

// A chiller at rest is watched at its setpoint only: once the water is half a degree
// above, or past the limit, it has stopped.
func TestChillerAtRest(t *testing.T) {
	for _, c := range []struct {
		celsius float64
		kind    rules.Kind
		variant string
	}{{6.2, rules.Watch, "resting"}, {7.5, rules.Watch, "resting"}, {7.6, rules.Act, "reading"},
		{12.5, rules.Act, "warm"}} {
		tk := newTank().calm(0, 9).check(10, func(k *logbook.Check) { warm(k, c.celsius); k.Chiller = logbook.Stopped })
		f := want(t, tk.assess(10), "chiller_stopped", c.kind, day(10))
		if f.Headline.Key != "rule.chiller_stopped.headline_"+c.variant {
			t.Errorf("%v: %s", c.celsius, f.Headline.Key)
		}
		checkTexts(t, *f)
	}
}
