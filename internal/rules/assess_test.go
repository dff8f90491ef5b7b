package rules_test

import (
	"math/rand/v2"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// Requirement A8: readings that swing 0.1 C about the limit of 10 C raise one
// flag, not one each time.
func TestSwingAboutTheLimitIsOneFlag(t *testing.T) {
	tk := newTank()
	for n := range 60 {
		v := 9.9
		if n%2 == 1 {
			v = 10.1
		}
		tk.temps(n, v)
	}
	episodes, last := 0, civil.Date{}
	for n := range 60 {
		if f := flag(tk.assess(n), "temperature_high"); f == nil {
			last = civil.Date{}
		} else if last != f.Since {
			episodes, last = episodes+1, f.Since
		}
	}
	if episodes != 1 {
		t.Errorf("%d flags", episodes)
	}
	tk.temps(60, 9.6)
	wantNot(t, tk.assess(60), "temperature_high")
}

// The same about the act limit of 12 C: it does not go up and down.
func TestSwingAboutTheActLimitStaysAct(t *testing.T) {
	tk := free(newTank()).temps(0, 12.1, 11.9, 12.1, 11.9)
	for n := range 4 {
		want(t, tk.assess(n), "temperature_high", rules.Act, day(0))
	}
	tk.temps(4, 11.5)
	want(t, tk.assess(4), "temperature_high", rules.Watch, day(0))
}

func TestStoppedUntilSeenRunning(t *testing.T) {
	tk := newTank().calm(0, 1).check(2, func(c *logbook.Check) { c.AirPump = logbook.Stopped }).
		check(3, func(c *logbook.Check) { c.AirPump = logbook.NotChecked }).
		check(4, func(c *logbook.Check) { warm(c, 7) }).
		check(7, func(c *logbook.Check) { c.AirPump = logbook.Running })
	for _, n := range []int{2, 3, 4, 5} {
		want(t, tk.assess(n), "air_pump_stopped", rules.Act, day(2))
	}
	wantNot(t, tk.assess(7), "air_pump_stopped")
}

func TestPlannedSetpointChangeIsNoJumpOrDrift(t *testing.T) {
	tk := newTank().calm(0, 19).event(20, logbook.SetpointChange,
		func(e *logbook.Event) { e.Setpoint = units.Some(units.Celsius(9.5)) })
	tk.temps(20, 9.3, 9.5, 9.4, 9.5, 9.6, 9.5)
	for n := 20; n <= 25; n++ {
		wantNot(t, tk.assess(n), "temperature_jump", "temperature_departure", "temperature_misread")
	}
}

func TestOddReadingDoesNotFlagTheNextOne(t *testing.T) {
	tk := free(newTank()).temps(0, 7, 7.1, 6.9, 7, 9.5, 7.1)
	want(t, tk.assess(4), "temperature_jump", rules.Watch, day(4))
	wantNot(t, tk.assess(5), "temperature_jump", "temperature_misread")
}

func TestSuspectReadingsAreLeftOut(t *testing.T) {
	tk := free(newTank()).temps(0, 7)
	tk.Readings = []logbook.Reading{
		{On: day(0), Temperature: 7}, {On: day(0), Temperature: 35, Quality: logbook.Suspect},
	}
	wantNot(t, tk.assess(0), "temperature_high")
	tk.Readings[1].Quality = logbook.Good
	want(t, tk.assess(0), "temperature_high", rules.Act, day(0))
}

func TestWeekendsAndClosedDays(t *testing.T) {
	tk := newTank().calm(0, 4) // Monday to Friday
	for _, n := range []int{5, 6} {
		a := tk.assess(n)
		wantNot(t, a, "check_missing", "nobody_looked")
		// No data is never fine, not even on a day when none is due.
		if a.Status != rules.StatusNoCheck || a.DueToday {
			t.Errorf("day %d: %s, due %v", n, a.Status, a.DueToday)
		}
	}
	want(t, tk.assess(7), "check_missing", rules.Due, day(7))
	want(t, tk.assess(9), "check_missing", rules.Act, day(7))
	seven, err := rules.NewProfile(1, []rules.Override{{Limit: rules.CheckWeekends, Value: 1, Reason: "weekend rota"}})
	if err != nil {
		t.Fatal(err)
	}
	want(t, tk.assessWith(7, nil, seven), "check_missing", rules.Act, day(5))

	closed(tk, 7, 8)
	a := tk.assess(7)
	if a.Status != rules.StatusFine || !a.Closed || a.LastCheck.Age != 3 {
		t.Errorf("closed day: %s, closed %v, age %d", a.Status, a.Closed, a.LastCheck.Age)
	}
}

func TestStatus(t *testing.T) {
	if a := newTank().calm(0, 3).assess(3); a.Status != rules.StatusFine || len(a.Flags) != 0 {
		t.Errorf("a calm tank is %s: %v", a.Status, names(a))
	}
	if a := newTank().calm(0, 2).assess(3); a.Status != rules.StatusNoCheck {
		t.Errorf("without a check today: %s", a.Status)
	}
	if a := newTank().calm(0, 2).check(3, look(logbook.WaterFilm)).assess(3); a.Status != rules.StatusWatch {
		t.Errorf("film: %s", a.Status)
	}
	if a := newTank().temps(0, 13).assess(0); a.Status != rules.StatusAct {
		t.Errorf("13 C: %s", a.Status)
	}
}

// An ordinary season of 180 days with one or two dead a month raises no act and
// no watch.
func TestCalmSeasonStaysQuiet(t *testing.T) {
	tk := newTank().calm(0, 60)
	for i := range tk.Checks {
		if i%17 == 5 {
			tk.Checks[i].DeadEggs = units.Some(1)
		}
	}
	for n := range 61 {
		for _, f := range tk.assess(n).Flags {
			t.Errorf("day %d: %s %s", n, f.Kind, f.Rule)
		}
	}
}

func TestNoFlagsWithoutFish(t *testing.T) {
	trouble := func() *tank {
		return newTank().calm(0, 2).check(3, func(c *logbook.Check) {
			warm(c, 14)
			c.Chiller, c.AirPump = logbook.Stopped, logbook.Stopped
			c.Water, c.Fungus = logbook.WaterFilm, logbook.Seen
		})
	}
	released := trouble().event(4, logbook.Released, count(200))
	shut := trouble()
	shut.ClosedOn = day(4)
	none := trouble()
	none.Deliveries = nil
	for name, a := range map[string]rules.Assessment{
		"before delivery": trouble().assess(-2),
		"released":        released.assess(4),
		"after release":   released.assess(20),
		"closing day":     shut.assess(4),
		"closed":          shut.assess(9),
		"no delivery":     none.assess(3),
		"moved out":       trouble().event(4, logbook.MovedOut, count(200)).assess(5),
	} {
		if len(a.Flags) != 0 || a.Active {
			t.Errorf("%s: active %v, %v", name, a.Active, names(a))
		}
	}
	if a := trouble().assess(3); len(a.Flags) < 3 {
		t.Errorf("the same tank with fish: %v", names(a))
	}
}

func TestBelief(t *testing.T) {
	tk := newTank().check(0, stage(logbook.EyedEgg))
	if b := tk.assessWith(3, line(3, 0.98, 0.01), nil).Stage; b.Stage != logbook.EyedEgg ||
		b.From != rules.FromObservation || b.On != day(0) {
		t.Errorf("fresh sighting: %+v", b)
	}
	if b := tk.assessWith(9, line(9, 0.98, 0.01), nil).Stage; b.Stage != logbook.Alevin || b.From != rules.FromIndex {
		t.Errorf("old sighting: %+v", b)
	}
	if b := tk.assess(60).Stage; b.Stage != logbook.EyedEgg || b.From != rules.FromObservation {
		t.Errorf("old sighting and no forecast: %+v", b)
	}
	if b := newTank().assess(0).Stage; b.Stage != logbook.EyedEgg || b.From != rules.FromDelivery {
		t.Errorf("as delivered: %+v", b)
	}
}

// busy draws an invented season with all sorts of entries.
func busy(t *rapid.T) *tank {
	tk := newTank()
	days := rapid.IntRange(5, 50).Draw(t, "days")
	pick := func(name string, of ...string) string { return rapid.SampledFrom(of).Draw(t, name) }
	level := 7.0
	for n := range days {
		if rapid.IntRange(0, 4).Draw(t, "skip") == 0 {
			continue
		}
		level += rapid.SampledFrom([]float64{-0.4, 0, 0, 0, 0.3, 0.6}).Draw(t, "step")
		tk.check(n, func(c *logbook.Check) {
			warm(c, units.Round(level, 1))
			c.DeadEggs = units.Some(rapid.SampledFrom([]int{0, 0, 0, 1, 2, 6}).Draw(t, "dead"))
			c.Chiller = logbook.Equipment(pick("chiller", "", "running", "running", "stopped"))
			c.AirPump = logbook.Equipment(pick("pump", "", "running", "stopped"))
			c.Water = logbook.Water(pick("water", "", "clear", "foam", "film"))
			c.Stage = logbook.Stage(pick("stage", "", "", "eyed_egg", "alevin"))
			c.Fungus = logbook.Observation(pick("fungus", "", "not_seen", "seen"))
			c.TAN = units.Some(units.MgPerL(rapid.Float64Range(0, 3).Draw(t, "tan")))
		})
		if rapid.IntRange(0, 6).Draw(t, "event") == 0 {
			tk.event(n, logbook.EventKind(pick("kind", "water_change", "setpoint_change", "basket_opened", "first_feed",
				"sample_taken")), func(e *logbook.Event) {
				e.Count = units.Some(2)
				e.Setpoint = units.Some(units.Celsius(8))
			})
		}
		tk.Readings = append(tk.Readings, logbook.Reading{On: day(n), Temperature: units.Celsius(level)})
	}
	return tk
}

// What was raised on a day does not depend on what is entered for later days.
func TestLaterEntriesChangeNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tk := busy(t)
		n := rapid.IntRange(0, 50).Draw(t, "on")
		whole := tk.assess(n)
		past := *tk
		past.Checks, past.Events, past.Readings = nil, nil, nil
		for _, c := range tk.Checks {
			if !c.On.After(day(n)) {
				past.Checks = append(past.Checks, c)
			}
		}
		for _, e := range tk.Events {
			if !e.On.After(day(n)) {
				past.Events = append(past.Events, e)
			}
		}
		for _, r := range tk.Readings {
			if !r.On.After(day(n)) {
				past.Readings = append(past.Readings, r)
			}
		}
		if then := past.assess(n); !reflect.DeepEqual(whole, then) {
			t.Fatalf("with later entries %v, without %v", names(whole), names(then))
		}
	})
}

func TestOrderOfInputDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tk := busy(t)
		n := rapid.IntRange(0, 50).Draw(t, "on")
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		mixed := tk.shuffled(rng)
		first := mixed.Checks
		if a, b := tk.assess(n), mixed.assess(n); !reflect.DeepEqual(a, b) {
			t.Fatalf("in order %v, mixed %v", names(a), names(b))
		}
		if len(first) > 0 && &first[0] != &mixed.Checks[0] {
			t.Fatal("the season was changed")
		}
	})
}

// One more dead egg at the newest count, or at one that is too young to teach
// the rule, never removes a dead-count flag and never lowers it.
func TestOneMoreDeadNeverRemovesAFlag(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tk := busy(t)
		if len(tk.Checks) == 0 {
			return
		}
		last := tk.Checks[len(tk.Checks)-1].On
		n := last.Sub(monday) + rapid.IntRange(0, 3).Draw(t, "later")
		before := flag(tk.assess(n), "dead_count")
		if before == nil {
			return
		}
		back := rapid.IntRange(0, min(3, len(tk.Checks)-1)).Draw(t, "back")
		c := &tk.Checks[len(tk.Checks)-1-back]
		if last.Sub(c.On) >= 7 {
			return
		}
		c.DeadEggs = units.Some(c.DeadEggs.V + 1)
		after := flag(tk.assess(n), "dead_count")
		if after == nil || after.Kind.Order() > before.Kind.Order() {
			t.Fatalf("was %s, then %v", before.Kind, after)
		}
	})
}

// The last egg of a tank dying is not the end of its flag.
func TestLastDeadEggKeepsTheFlag(t *testing.T) {
	tk := newTank().calm(0, 8).check(9, func(c *logbook.Check) { c.DeadEggs = units.Some(199) })
	want(t, tk.assess(12), "dead_count", rules.Act, day(9))
	tk.Checks[len(tk.Checks)-1].DeadEggs = units.Some(200)
	a := tk.assess(12)
	want(t, a, "dead_count", rules.Act, day(9))
	if a.Active || len(a.Flags) != 1 || a.Status != rules.StatusAct {
		t.Errorf("active %v, %s, %v", a.Active, a.Status, names(a))
	}
}

func TestFlagsAreInOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := busy(t).assess(rapid.IntRange(0, 50).Draw(t, "on"))
		seen := map[string]bool{}
		for i, f := range a.Flags {
			if id := f.Rule + "/" + f.Subject; seen[id] {
				t.Fatalf("%s stands twice", id)
			} else {
				seen[id] = true
			}
			if i == 0 {
				continue
			}
			p := a.Flags[i-1]
			if f.Kind.Order() < p.Kind.Order() || f.Kind == p.Kind && f.Rule < p.Rule {
				t.Fatalf("order: %v", names(a))
			}
			if f.Since.After(a.On) {
				t.Fatalf("%s since %s, after %s", f.Rule, f.Since, a.On)
			}
		}
	})
}
