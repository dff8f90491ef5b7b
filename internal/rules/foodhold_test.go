package rules_test

import (
	"testing"

	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// ammoniaTest is a check with total ammonia as N at pH 8 and 9 C, where the
// un-ionised share is 0.01687 (Emerson et al. 1975; the printed table has .01560
// at 8 C and .01822 at 10 C).
func ammoniaTest(tan float64) func(*logbook.Check) {
	return func(c *logbook.Check) {
		warm(c, 9)
		c.Stage, c.PH, c.TAN = logbook.Fry, units.Some(8.0), units.Some(units.MgPerL(tan))
	}
}

func holdsOn(t *testing.T, tk *tank, n int, p *rules.Profile) rules.FoodHold {
	t.Helper()
	return tk.assessWith(n, nil, p).Hold
}

func TestFoodIsHeldUntilAGoodTestOrTooOldATest(t *testing.T) {
	bad := func() *tank { return newTank().check(3, ammoniaTest(1.5)) } // 0.0308 mg/L as NH3, above 0.019
	for n, held := range map[int]bool{2: false, 3: true, 4: true, 6: true, 7: false} {
		if h := holdsOn(t, bad(), n, nil); h.Held() != held {
			t.Errorf("day %d: held %v, want %v", n, h.Held(), held)
		}
	}
	if h := holdsOn(t, bad(), 4, nil); h.Reason != rules.HoldAmmonia || h.From != day(3) || h.Limit != 0.019 ||
		h.Source == "" || h.NH3 < 0.030 || h.NH3 > 0.0315 {
		t.Errorf("%+v", h)
	}
	mended := bad().check(4, ammoniaTest(0.5)) // 0.0103
	if h := holdsOn(t, mended, 4, nil); h.Held() {
		t.Errorf("still held after a good test: %+v", h)
	}
	if h := holdsOn(t, mended, 3, nil); !h.Held() {
		t.Error("not held on the day of the bad test")
	}
	// Without pH nothing is known of the part that harms: much of it stops the food,
	// a little does not.
	for tan, held := range map[float64]bool{0.5: false, 4: true} {
		blind := newTank().check(3, func(c *logbook.Check) {
			warm(c, 9)
			c.Stage, c.TAN = logbook.Fry, units.Some(units.MgPerL(tan))
		})
		if h := holdsOn(t, blind, 3, nil); h.Held() != held {
			t.Errorf("%v mg/L without pH: %+v", tan, h)
		}
	}
}

func TestFoodHoldFollowsTheProfile(t *testing.T) {
	profile := func(o ...rules.Override) *rules.Profile {
		p, err := rules.NewProfile(1, o)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	why := "chosen by the programme"
	// Total ammonia is judged by itself; here only the un-ionised part counts.
	total := rules.Override{Limit: rules.TotalAmmoniaWatch, Value: 5, Reason: why}
	tk := newTank().check(3, ammoniaTest(1.2)) // 0.0246
	if !holdsOn(t, tk, 3, nil).Held() {
		t.Error("0.0246 is above 0.019")
	}
	looser := profile(total, rules.Override{Limit: rules.AmmoniaWatch, Value: 0.025, Reason: why})
	if holdsOn(t, tk, 3, looser).Held() {
		t.Error("0.0246 is below the chosen 0.025")
	}
	short := profile(rules.Override{Limit: rules.FoodHoldDays, Value: 1, Reason: why})
	if holdsOn(t, tk, 5, short).Held() || !holdsOn(t, tk, 4, short).Held() {
		t.Error("one day of hold is the day after the test")
	}
	by := releasedBy(newTank().calm(0, 20), 20)
	for n, held := range map[int]bool{17: false, 18: true, 20: true} {
		if h := holdsOn(t, by, n, nil); h.Held() != held || held &&
			(h.Reason != rules.HoldRelease || h.From != day(18)) {
			t.Errorf("day %d: %+v", n, h)
		}
	}
	if holdsOn(t, by, 19, profile(rules.Override{Limit: rules.FoodFastDays, Value: 0, Reason: why})).Held() {
		t.Error("a programme that does not fast has no hold")
	}
	// A hold of the log is the same for whoever lists it.
	list := rules.FoodHolds(rules.Input{Season: &tk.Season, Today: day(9)})
	if len(list) != 1 || !list[0].On(day(4)) || list[0].On(day(3)) || list[0].On(day(7)) {
		t.Errorf("%+v", list)
	}
}

// Fish that a sample took count as taken for the dead-count rule, and a later
// count of all living fish is not lowered by them again.
func TestSampledFishAreNotAtRisk(t *testing.T) {
	tk := newTank().calm(0, 9)
	tk.Samples = []logbook.Sample{{ID: "m1", On: day(3), Count: 20, Total: 8, Lost: units.Some(5)}}
	if got := tk.TotalsOn(day(9)); got.Sampled != 5 || got.Alive != 195 || !got.Balanced() {
		t.Errorf("%+v", got)
	}
	tk.event(5, logbook.Counted, count(193))
	if got := tk.TotalsOn(day(9)); got.Alive != 193 || got.Unexplained != 2 || !got.Balanced() {
		t.Errorf("%+v", got)
	}
}
