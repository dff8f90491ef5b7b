package rules_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"reddside/internal/care"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// effects returns what the steps of messages do, by step.
func effects(list []rules.Message) map[string]care.Effect {
	out := map[string]care.Effect{}
	for _, m := range list {
		id := strings.TrimPrefix(m.Key, "rules.do.")
		out[id] = care.ByID(id).Effect
	}
	return out
}

// has reports whether a rule raised a flag.
func has(as rules.Assessment, rule string) bool {
	return slices.ContainsFunc(as.Flags, func(f rules.Flag) bool { return f.Rule == rule })
}

func clashes(t *testing.T, where string, a, b map[string]care.Effect) {
	t.Helper()
	for x, ex := range a {
		for y, ey := range b {
			if care.Clash(ex, ey) {
				t.Errorf("%s: %s beside %s", where, x, y)
			}
		}
	}
}

// signs are what a check can show, at the levels that the rules tell apart.
func signs() map[string]func(*logbook.Check) {
	mg := func(v float64) units.Optional[units.MgPerL] { return units.Some(units.MgPerL(v)) }
	out := map[string]func(*logbook.Check){
		"nothing": func(*logbook.Check) {},
		"filter":  func(c *logbook.Check) { c.Filter = logbook.Stopped },
		"air":     func(c *logbook.Check) { c.AirPump = logbook.Stopped },
		"chiller": func(c *logbook.Check) { c.Chiller = logbook.Stopped },
		"power": func(c *logbook.Check) {
			c.Filter, c.AirPump, c.Chiller = logbook.Stopped, logbook.Stopped, logbook.Stopped
		},
		"blind": func(c *logbook.Check) { c.TAN = mg(8) },
		"fuzz":  func(c *logbook.Check) { c.Fungus = logbook.Seen },
	}
	for _, v := range []float64{0.5, 3.5, 6, 8, 11, 14, 16, 19} {
		out[fmt.Sprint("water ", v)] = func(c *logbook.Check) { warm(c, v) }
	}
	for _, v := range []float64{5.2, 6.3, 8.8, 9.4} {
		out[fmt.Sprint("pH ", v)] = func(c *logbook.Check) { c.PH = units.Some(v) }
	}
	for _, v := range []float64{0.5, 1.5, 5, 8} {
		out[fmt.Sprint("ammonia ", v)] = func(c *logbook.Check) { c.PH, c.TAN = units.Some(7.4), mg(v) }
	}
	for _, v := range []float64{0.1, 0.3} {
		out[fmt.Sprint("nitrite ", v)] = func(c *logbook.Check) { c.Nitrite = mg(v) }
	}
	for _, v := range []float64{3, 6, 14} {
		out[fmt.Sprint("oxygen ", v)] = func(c *logbook.Check) { c.Oxygen = mg(v) }
	}
	for _, v := range []logbook.Water{logbook.WaterFoam, logbook.WaterCloudy, logbook.WaterFilm} {
		out["water looks "+string(v)] = func(c *logbook.Check) { c.Water = v }
	}
	for _, n := range []int{3, 60} {
		out[fmt.Sprint("dead ", n)] = func(c *logbook.Check) { c.DeadEggs = units.Some(n) }
	}
	return out
}

// Every sign, alone and with every other, at every stage: no step contradicts
// another of the same flag or of the page on failures, every flag has something
// to do, and food is held exactly when a flag stops it.
func TestNoAdviceContradictsAnother(t *testing.T) {
	all := signs()
	raised := map[string]bool{}
	for i, st := range []logbook.Stage{logbook.GreenEgg, logbook.EyedEgg, logbook.Alevin, logbook.Fry, logbook.Parr,
		logbook.EyedEgg, logbook.Fry} {
		for one, a := range all {
			for two, b := range all {
				tk := newTank()
				if i >= 5 { // a tank without chiller and setpoint
					tk = free(tk)
					tk.Tank.HasChiller = false
				}
				tk.Deliveries[0].Stage = st
				tk.check(0, func(c *logbook.Check) { warm(c, 8); c.Stage = st; c.DeadEggs = units.Some(0) })
				tk.check(1, func(c *logbook.Check) { warm(c, 8); c.Stage = st; c.DeadEggs = units.Some(0); a(c); b(c) })
				as := tk.assess(1)
				where := fmt.Sprintf("%s, %s and %s", st, one, two)
				stops := ""
				for i := range as.Flags {
					f := &as.Flags[i]
					raised[f.Rule] = true
					if len(f.Do) == 0 {
						t.Errorf("%s: %s says nothing to do", where, f.Rule)
					}
					mine := effects(f.Do)
					clashes(t, where+", "+f.Rule, mine, mine)
					for id, e := range mine {
						if e == care.StopsFood {
							stops = f.Rule + " by " + id
						}
						if as.Hold.Held() && e == care.Feeds {
							t.Errorf("%s: %s feeds while food is held by %s", where, f.Rule, as.Hold.Rule)
						}
					}
					for j := range as.Flags[:i] {
						clashes(t, where+", "+f.Rule+" and "+as.Flags[j].Rule, mine, effects(as.Flags[j].Do))
					}
				}
				for _, failed := range []string{"chiller_stopped", "power_out"} { // the page on failures, opened now
					page := map[string]care.Effect{}
					for _, x := range care.FailureSteps(failed == "power_out", as.Situation) {
						if x.Effect != care.StopsFood || has(as, failed) { // it stops the food of a tank that stands
							page[x.ID] = x.Effect
						}
					}
					clashes(t, where+", failure page", page, page)
					for i := range as.Flags {
						clashes(t, where+", failure page and "+as.Flags[i].Rule, page, effects(as.Flags[i].Do))
					}
				}
				if as.Hold.Held() != (stops != "") {
					t.Errorf("%s: food held %v, but the flags stop it: %q", where, as.Hold.Held(), stops)
				}
			}
		}
	}
	for _, id := range []string{"temperature_high", "temperature_low", "temperature_departure", "temperature_jump",
		"ammonia", "nitrite", "oxygen", "ph", "gas", "dead_count", "filter_stopped", "power_out", "ammonia_no_ph"} {
		if !raised[id] {
			t.Errorf("nothing raised %s: the signs are too few", id)
		}
	}
}

// 60 of 200 overnight is poison, chlorine or air: no fungus advice, no count tomorrow
// and no water change before a sample is taken.
func TestMassDeath(t *testing.T) {
	tk := newTank().calm(0, 8).check(9, func(c *logbook.Check) { warm(c, 7); c.DeadEggs = units.Some(60) })
	f := want(t, tk.assess(9), "dead_count", rules.Act, day(9))
	got := effects(f.Do)
	for _, id := range []string{"air_on", "call_now", "what_went_in", "keep_dead_cold", "pour_nothing",
		"dechlorinate_or_move", "dispose_dead"} {
		if _, ok := got[id]; !ok {
			t.Errorf("no %s", id)
		}
	}
	for _, id := range []string{"look_fuzz", "count_again", "change_water", "phone_coordinator", "starved"} {
		if _, ok := got[id]; ok {
			t.Errorf("%s at a mass death of eggs", id)
		}
	}
	few := effects(want(t, newTank().calm(0, 8).check(9,
		func(c *logbook.Check) { warm(c, 7); c.DeadEggs = units.Some(3) }).assess(9), "dead_count", rules.Watch,
		day(9)).Do)
	if _, ok := few["look_fuzz"]; !ok {
		t.Error("a few dead eggs are looked at for fuzz")
	}
}

// One quiet count after a mass death ends nothing: the call and the sample stay for
// three days, and then the steps of ordinary losses come.
func TestMassDeathKeepsItsSteps(t *testing.T) {
	tk := newTank().calm(0, 8).check(9, func(c *logbook.Check) { warm(c, 7); c.DeadEggs = units.Some(60) })
	for d := 10; d <= 14; d++ {
		tk.check(d, func(c *logbook.Check) { warm(c, 7); c.DeadEggs = units.Some(2) })
		_, call := effects(want(t, tk.assess(d), "dead_count", rules.Act, day(9)).Do)["call_now"]
		if stays := d <= 12; call != stays {
			t.Errorf("%d days after: the call stays %v, want %v", d-9, call, stays)
		}
	}
}

// Chlorine kills within hours: the tank is dechlorinated first, and somebody is called
// at once, not "if it does not get better".
func TestChlorineCallsAtOnce(t *testing.T) {
	f := want(t, newTank().check(0, func(c *logbook.Check) { c.Chlorine = units.Some[units.MgPerL](0.1) }).assess(0), "chlorine", rules.Act, day(0))
	if f.Do[0].Key != "rules.do.dechlorinate_tank" {
		t.Errorf("first: %s", f.Do[0].Key)
	}
	did := effects(f.Do)
	if _, ok := did["call_at_once"]; !ok {
		t.Error("nobody is called at once")
	}
	if _, ok := did["phone_coordinator"]; ok {
		t.Error("a call waits for it to get worse")
	}
}

// 3.5 C held steadily is not too cold for eyed eggs, nor 5.5 C for fry; the loss
// quoted is of eggs started in such water.
func TestSteadyColdIsNoAlarm(t *testing.T) {
	wantNot(t, newTank().temps(0, 3.5, 3.5, 3.5).assess(2), "temperature_low", "temperature_jump")
	fryTank := newTank()
	for n := range 3 {
		fryTank.check(n, func(c *logbook.Check) { warm(c, 5.5); c.Stage = logbook.Fry })
	}
	wantNot(t, fryTank.assess(2), "temperature_low")
}

// No limit cites a site that shares documents of others.
func TestSourcesAreNotDocumentSharing(t *testing.T) {
	for _, l := range rules.Limits() {
		for _, r := range rules.StockProfile().Rows(l) {
			for _, site := range []string{"docest", "docsbay", "scribd", "yumpu", "docslib", "studylib", "http"} {
				if strings.Contains(r.Source, site) {
					t.Errorf("%s: %s", l, r.Source)
				}
			}
		}
	}
}
