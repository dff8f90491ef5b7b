package rules_test

import (
	"math/rand/v2"
	"testing"

	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// at is a tank whose eyed eggs came on the day before monday at an index.
func at(index float64) *tank {
	tk := newTank()
	tk.Deliveries[0].Index = units.Some(index)
	return tk
}

func (t *tank) assessed(n int) (rules.Assessment, *forecast.Result) {
	f := forecast.Compute(forecast.Input{Season: &t.Season, Today: day(n)})
	return t.assessWith(n, &f, nil), &f
}

// Before the first check, at index 1.09: the eggs were seen unhatched at delivery. In
// the first week they are eyed eggs as delivered; later the stage is what the window
// says, never alevins beside a hatch to come.
func TestStageBeforeTheFirstCheck(t *testing.T) {
	a, f := at(1.06).assessed(1)
	if a.Stage.Stage != logbook.EyedEgg || a.Stage.From != rules.FromDelivery || !f.Hatch.P50.After(day(1)) {
		t.Errorf("index %.2f: %+v, hatch %+v", f.Index, a.Stage, f.Hatch)
	}
	for _, index := range []float64{0.8, 0.9, 0.97} {
		for n := range 40 {
			a, f := at(index).assessed(n)
			hatched := a.Stage.Stage.Order() >= logbook.Alevin.Order()
			if ahead := f.Hatch.P50.After(day(n)); hatched && ahead {
				t.Errorf("from %.2f, day %d: %s (%s) and hatch %v to %v",
					index, n, a.Stage.Stage, a.Stage.From, f.Hatch.P10, f.Hatch.P90)
			}
			if hatched && a.Stage.From == rules.FromObservation {
				t.Errorf("day %d: worked out and shown as seen", n)
			}
		}
	}
}

// Invented tanks, looked at now and then with and without a word on the stage: the
// stage worked out and the windows agree on every day.
func TestStageAndForecastNeverContradict(t *testing.T) {
	rng := rand.New(rand.NewPCG(12, 5))
	for range 60 {
		tk := at(0.4 + 0.5*rng.Float64())
		for n := range 120 {
			if rng.IntN(3) > 0 {
				continue
			}
			tk.check(n, func(c *logbook.Check) {
				warm(c, 7)
				switch i := float64(n) / 72; {
				case rng.IntN(2) == 0:
				case i > 1:
					c.Stage = logbook.Fry
				case i > 0.4:
					c.Stage = logbook.Alevin
				default:
					c.Stage = logbook.EyedEgg
				}
			})
		}
		for n := 0; n < 120; n += 7 {
			a, f := tk.assessed(n)
			if a.Stage.From != rules.FromIndex {
				continue
			}
			order := a.Stage.Stage.Order()
			for _, w := range []struct {
				w     *forecast.Window
				stage logbook.Stage
			}{{&f.Hatch, logbook.Alevin}, {&f.SwimUp, logbook.Fry}} {
				passed := w.w.BeforeStart || w.w.Ok() && !w.w.P50.After(day(n))
				if passed != (order >= w.stage.Order()) {
					t.Fatalf("day %d: %s worked out, %s %+v", n, a.Stage.Stage, w.stage, *w.w)
				}
			}
		}
	}
}

// At 7 C half of the fry hold themselves up 50 days after hatch (0.7 of the 71.9 days
// to hatch; Crisp 1988, read). Food 28 days after hatch is too early, from the first;
// "First food" opens at 50.
func TestFoodOpensWhenHalfHoldThemselvesUp(t *testing.T) {
	fed := func(after int) *tank {
		tk := at(0.9)
		for n := range 110 {
			tk.check(n, func(c *logbook.Check) {
				warm(c, 7)
				switch {
				case n < 7:
					c.Hatched = logbook.HatchedNone
				case n == 7:
					c.Hatched = logbook.HatchedHalf
				case n < 15:
					c.Hatched = logbook.HatchedAll
				}
			})
		}
		if after > 0 {
			tk.event(7+after, logbook.FirstFeed, nil)
		}
		return tk
	}
	opened, stopped := 0, 0
	early := map[int]bool{}
	for n := 8; n < 75; n++ {
		tk := fed(0)
		tk.Checks = tk.Checks[:n+1]
		a, _ := tk.assessed(n)
		if flag(a, "first_food") != nil && opened == 0 {
			opened = n - 7
		}
		for _, after := range []int{28, 33, 40} {
			tk := fed(after)
			tk.Checks = tk.Checks[:n+1]
			if a, _ := tk.assessed(n); flag(a, "fed_early") != nil {
				early[after], stopped = true, n-7
			}
		}
	}
	if opened < 49 || opened > 51 {
		t.Errorf("first food opens %d days after hatch, want 50", opened)
	}
	if !early[28] || !early[33] || early[40] || stopped > 36 {
		t.Errorf("told as too early: %v, until %d days after hatch; the shortest time is 35", early, stopped)
	}
	tk := fed(28)
	tk.Checks = tk.Checks[:7+28+1]
	if a, _ := tk.assessed(7 + 28); flag(a, "fed_early") == nil || flag(a, "fed_early").Since != day(7+28) {
		t.Error("not told on the day of the first food")
	}
}
