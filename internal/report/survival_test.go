package report

import (
	"math"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %v, want %v", what, got, want)
	}
}

func TestAlive(t *testing.T) {
	v, ok := AliveOf(logbook.Totals{Delivered: 100, MovedIn: 10, Alive: 60, Dead: 20, MovedOut: 10, Sampled: 5,
		Released: 10, Unexplained: 5})
	if !ok || v.Left != 85 || v.Start != 110 || v.Lower != 85.0/110 || v.Upper != 90.0/110 {
		t.Errorf("got %+v %v", v, ok)
	}
	if _, ok := AliveOf(logbook.Totals{}); ok {
		t.Error("survival of nothing")
	}
	if _, ok := AliveOf(logbook.Totals{Delivered: 10, Alive: 12, Unexplained: -2}); ok {
		t.Error("survival above 1")
	}
}

// tank is an invented season of n eggs with dead at checks on days after the
// delivery.
func tank(n int, dead map[int]int) *logbook.Season {
	s := &logbook.Season{Deliveries: []logbook.Delivery{{On: day("2026-01-05"), Count: n, Method: logbook.ByHand,
		Stage: logbook.EyedEgg}}}
	for d := range 100 {
		if k, ok := dead[d]; ok {
			s.Checks = append(s.Checks, logbook.Check{On: day("2026-01-05").AddDays(d), DeadEggs: units.Some(k)})
		}
	}
	return s
}

func onDay(n int) civil.Date { return day("2026-01-05").AddDays(n) }

// 186 of 200 with dispersion 2 is 93 of 100: 86.3 to 96.6 % (statistics notes S4,
// from Wilson 1927), for a class 86 to 97. The exact limits of 186 of 200 are the
// row clopper_pearson of testdata/reference/statistics.csv (R 4.2.2, qbeta).
func TestSurvivalOfASeason(t *testing.T) {
	v, ok := SurvivalOf(tank(200, map[int]int{2: 4, 3: 0, 9: 6, 20: 4}), onDay(30))
	if !ok || v.Season.Method != ByWilson || v.Season.Alive != 186 || v.Season.Of != 200 || v.Estimated {
		t.Fatalf("%+v %v", v, ok)
	}
	near(t, "lower", v.Season.Lower, 0.863, 0.0005)
	near(t, "upper", v.Season.Upper, 0.966, 0.0005)
	near(t, "exact lower", v.Season.Exact.Lower, 0.8853, 0.0001)
	near(t, "exact upper", v.Season.Exact.Upper, 0.9612, 0.0001)
	if v.Hundred.Alive != 93 || v.Hundred.Lower != 86 || v.Hundred.Upper != 97 {
		t.Errorf("a hundred: %+v", v.Hundred)
	}
	want := []CurvePoint{{On: onDay(2), AtRisk: 200, Dead: 4, Survival: 0.98}, {On: onDay(9), AtRisk: 196, Dead: 6,
		Survival: 0.95},
		{On: onDay(20), AtRisk: 190, Dead: 4, Survival: 0.93}}
	if len(v.Curve) != len(want) {
		t.Fatalf("curve %+v", v.Curve)
	}
	for i, w := range want {
		g := v.Curve[i]
		if g.On != w.On || g.AtRisk != w.AtRisk || g.Dead != w.Dead || !g.HasInterval ||
			!(g.Lower < g.Survival && g.Survival < g.Upper) {
			t.Errorf("step %+v, want %+v", g, w)
		}
		near(t, "survival", g.Survival, w.Survival, 1e-12)
	}
}

// By hand: 10 die of 100, then 30 are taken out, 6 of 60 die, 20 are added, 8 of
// 74 die: 0.9 * 0.9 * (1 - 8/74).
func TestSurvivalWithRemovals(t *testing.T) {
	s := tank(100, map[int]int{1: 10, 5: 6, 9: 8})
	s.Events = []logbook.Event{{Kind: logbook.SampleTaken, On: onDay(3), Count: units.Some(30)},
		{Kind: logbook.MovedIn, On: onDay(9), Count: units.Some(20)}}
	v, ok := SurvivalOf(s, onDay(12))
	if !ok || v.Season.Method != ByKaplanMeier {
		t.Fatalf("%+v %v", v, ok)
	}
	near(t, "survival", v.Season.Estimate, 0.9*0.9*(1-8.0/74), 1e-12)
	// Released after the last death: nothing is lost of what is known.
	s = tank(100, map[int]int{1: 10})
	s.Events = []logbook.Event{{Kind: logbook.Released, On: onDay(20), Count: units.Some(90)}}
	if v, ok = SurvivalOf(s, onDay(25)); !ok || v.Season.Method != ByWilson || v.Left != 90 || v.Season.Alive != 90 {
		t.Errorf("after the release %+v %v", v, ok)
	}
}

// Six that nobody can explain: between 90 and 93 in a hundred lived, and the
// interval covers both.
func TestSurvivalOfTheUnexplained(t *testing.T) {
	s := tank(200, map[int]int{2: 14})
	s.Events = []logbook.Event{{Kind: logbook.Counted, On: onDay(10), Count: units.Some(180)}}
	v, ok := SurvivalOf(s, onDay(12))
	if !ok || v.Unexplained != 6 {
		t.Fatalf("%+v %v", v, ok)
	}
	near(t, "lowest", v.Alive.Lower, 0.90, 1e-12)
	near(t, "highest", v.Alive.Upper, 0.93, 1e-12)
	// Wilson of 90 of 100 and 93 of 100: 0.826 and 0.966 (by the formula).
	near(t, "lower", v.Season.Lower, 0.826, 0.0005)
	near(t, "upper", v.Season.Upper, 0.966, 0.0005)
}

// One dead of 300 is seen among the hundred.
func TestHundredDotsShowOneDead(t *testing.T) {
	v, ok := SurvivalOf(tank(300, map[int]int{2: 1}), onDay(3))
	if !ok || v.Hundred.Alive != 99 {
		t.Errorf("%+v", v.Hundred)
	}
	if v, _ := SurvivalOf(tank(300, map[int]int{2: 299}), onDay(3)); v.Hundred.Alive != 1 {
		t.Errorf("%+v", v.Hundred)
	}
}

func TestSurvivalByStage(t *testing.T) {
	s := tank(200, map[int]int{2: 4, 9: 6, 12: 0, 20: 2, 40: 0, 50: 0})
	s.Checks[2].Stage = logbook.Alevin // day 12
	s.Checks[4].Stage = logbook.Fry    // day 40
	v, ok := SurvivalOf(s, onDay(60))
	if !ok || len(v.Stages) != 3 {
		t.Fatalf("%+v %v", v.Stages, ok)
	}
	for i, want := range []StageSurvival{
		{Stage: logbook.EyedEgg, From: onDay(0), To: onDay(11), Share: Share{Alive: 190, Of: 200}},
		{Stage: logbook.Alevin, From: onDay(12), To: onDay(39), Share: Share{Alive: 188, Of: 190}},
		{Stage: logbook.Fry, From: onDay(40), To: onDay(60), Share: Share{Alive: 188, Of: 188}},
	} {
		g := v.Stages[i]
		if g.Stage != want.Stage || g.From != want.From || g.To != want.To || g.Alive != want.Alive || g.Of != want.Of {
			t.Errorf("%+v, want %+v", g, want)
		}
	}
	// Nobody left alive before the end: the stages multiply to the season.
	product := 1.0
	for _, g := range v.Stages {
		product *= g.Estimate
	}
	near(t, "product", product, v.Season.Estimate, 1e-12)
	// None of 188: 1 - 0.05^(1/188), about 3/188.
	near(t, "still possible", v.Stages[2].ZeroUpper, 1-math.Pow(0.05, 1.0/188), 1e-12)
}

func TestSurvivalWithoutAnAccount(t *testing.T) {
	if _, ok := SurvivalOf(&logbook.Season{}, onDay(3)); ok {
		t.Error("nothing came")
	}
	if v, ok := SurvivalOf(tank(10, map[int]int{2: 12}), onDay(3)); ok {
		t.Errorf("more died than came: %+v", v)
	}
	v, ok := SurvivalOf(tank(10, map[int]int{2: 10}), onDay(3))
	if !ok || v.Season.Estimate != 0 || v.Curve[0].HasInterval || v.Hundred.Alive != 0 || v.Hundred.Upper < 1 {
		t.Errorf("all died: %+v %v", v, ok)
	}
}
