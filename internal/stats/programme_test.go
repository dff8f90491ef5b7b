package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// Recalibration gives back the rates that made the data, and 1.5 for Poisson
// counts (the lower clamp) or their own scatter for clumped ones.
func TestRecalibrate(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	checks := func(clump int) []PastCheck {
		var past []PastCheck
		for i := range 20000 {
			stage := DeadStage(i % StageCount)
			c := PastCheck{AtRisk: 200, Stage: stage}
			c.Days[stage] = 1 + i%3
			mean := 200 * 0.002 * float64(c.Days[stage]) / float64(clump)
			for p := rng.Float64(); p > math.Exp(-mean); p *= rng.Float64() {
				c.Dead += clump
			}
			past = append(past, c)
			if i%50 == 0 {
				past = append(past, PastCheck{AtRisk: 200, Dead: 60, Stage: stage, Days: c.Days, Confirmed: true})
			}
		}
		return past
	}
	for clump, phi := range map[int]float64{1: 1.5, 3: 3, 9: 5} {
		cfg, err := Recalibrate(DefaultDeadConfig(), checks(clump))
		must(t, err)
		for s, r := range cfg.Rates {
			near(t, "rate of stage "+string(rune('0'+s)), r, 0.002, 0.0003)
		}
		near(t, "phi", cfg.Phi, phi, 0.25)
	}
}

func TestRecalibrateLimits(t *testing.T) {
	quiet := make([]PastCheck, MinRecalibration)
	for i := range quiet {
		quiet[i] = PastCheck{AtRisk: 200, Stage: StageEgg}
		quiet[i].Days[StageEgg] = 1
	}
	cfg, err := Recalibrate(DefaultDeadConfig(), quiet)
	must(t, err)
	near(t, "egg rate", cfg.Rates[StageEgg], RateFloor, 0)
	near(t, "untouched hatch rate", cfg.Rates[StageHatching], 0.0035, 0)
	if _, err := Recalibrate(DefaultDeadConfig(), quiet[1:]); !errors.Is(err, ErrTooFew) {
		t.Errorf("199 checks: %v", err)
	}
	quiet[0].Confirmed = true
	if _, err := Recalibrate(DefaultDeadConfig(), quiet); !errors.Is(err, ErrTooFew) {
		t.Errorf("199 checks and a confirmed one: %v", err)
	}
}

// Science notes S7: n >= 4 for 80 %, 9 for 90 %, 19 for 95 %.
func TestConformalNeeds(t *testing.T) {
	for level, least := range map[float64]int{0.80: 4, 0.90: 9, 0.95: 19} {
		if _, ok := ConformalRank(least, level); !ok {
			t.Errorf("%v: %d are too few", level, least)
		}
		if _, ok := ConformalRank(least-1, level); ok {
			t.Errorf("%v: %d are enough", level, least-1)
		}
	}
	w, err := ConformalHalfWidth([]float64{-3, 1, 2, -0.5}, 0.8)
	must(t, err)
	near(t, "half width", w, 3, 0)
	if _, err := ConformalHalfWidth(nil, 0.8); !errors.Is(err, ErrTooFew) {
		t.Errorf("none: %v", err)
	}
}

// The truncated normal by drawing and throwing away what is past.
func TestNotYetQuantile(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	var kept []float64
	for len(kept) < 100000 {
		if x := 20 + 3*rng.NormFloat64(); x >= 21 {
			kept = append(kept, x)
		}
	}
	for _, p := range []float64{0.1, 0.5, 0.9} {
		near(t, "quantile", NotYetQuantile(20, 3, 21, p), Quantile(kept, p), 0.05)
	}
	// Far past: finite, not before today, in order.
	a, b := NotYetQuantile(20, 1, 60, 0.1), NotYetQuantile(20, 1, 60, 0.9)
	if !(a >= 60 && b >= a && b < 61) {
		t.Errorf("far past: %v, %v", a, b)
	}
}

// v(N) against the double sum of the autocorrelation rho^|i-j|/N^2.
func TestMeanVariance(t *testing.T) {
	for _, rho := range []float64{0, 0.3, 0.8} {
		for _, n := range []int{1, 2, 7, 30} {
			var sum float64
			for i := range n {
				for j := range n {
					sum += math.Pow(rho, math.Abs(float64(i-j)))
				}
			}
			near(t, "variance", MeanVariance(0.5, rho, float64(n)), 0.25*sum/float64(n*n), 1e-12)
		}
	}
}

func TestForecastPastDue(t *testing.T) {
	f := UnitsForecast{Need: 500, NeedSD: 25, Have: 520, PerDay: 10, ElapsedDays: 50, Rho: 0.8}
	days, sd, err := f.DaysLeft()
	must(t, err)
	near(t, "days", days, 0, 0)
	near(t, "sd", sd, 2.5, 1e-12)
	f.PerDay = 0
	if _, _, err := f.DaysLeft(); !errors.Is(err, ErrInput) {
		t.Errorf("no warmth: %v", err)
	}
}

// Tanks that differ (logit sd 0.4, survival 93 %) but none bad: at most 0.11
// names a look among 100; with bad ones at 70 %, most are found.
// Bounds: simulation table of the science notes S5 (0.07 false, 0.74 found),
// rounded for another generator.
func TestFunnelNamesFewGoodTanks(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	const tanks, looks = 100, 400
	draw := func(bad int) (falseNames, found int) {
		alive, start := make([]int, tanks), make([]int, tanks)
		for i := range start {
			start[i] = 50 + rng.IntN(251)
			p := 1 / (1 + math.Exp(-math.Log(0.93/0.07)-0.4*rng.NormFloat64()))
			if i < bad {
				p = 0.70
			}
			alive[i] = 0
			for range start[i] {
				if rng.Float64() < p {
					alive[i]++
				}
			}
		}
		low, _, err := LowTanks(alive, start, GateLevel)
		must(t, err)
		for _, i := range low {
			if i < bad {
				found++
			} else {
				falseNames++
			}
		}
		return falseNames, found
	}
	var falseNames, found int
	for range looks {
		f, _ := draw(0)
		falseNames += f
		_, k := draw(5)
		found += k
	}
	perLook, share := float64(falseNames)/looks, float64(found)/(5*looks)
	t.Logf("false names a look %.3f, bad tanks found %.2f", perLook, share)
	if perLook > 0.11 || share < 0.65 {
		t.Errorf("false names a look %.3f (at most 0.11), found %.2f (at least 0.65)", perLook, share)
	}
}

func TestFunnelNeedsEnough(t *testing.T) {
	alive, start := make([]int, 19), make([]int, 19)
	for i := range start {
		alive[i], start[i] = 90, 100
	}
	if _, f, err := LowTanks(alive, start, GateLevel); !errors.Is(err, ErrTooFew) || f.A <= 0 {
		t.Errorf("19 tanks: %v, %+v", err, f)
	}
	alive, start = append(alive, 20), append(start, 29)
	if _, _, err := LowTanks(alive, start, GateLevel); !errors.Is(err, ErrTooFew) {
		t.Errorf("29 animals: %v", err)
	}
	if _, err := FitFunnel([]int{1, 5}, []int{10, 4}); !errors.Is(err, ErrInput) {
		t.Errorf("5 of 4: %v", err)
	}
	lower, upper := Funnel{A: 93 * 1e6, B: 7 * 1e6}.Limits(200, 0.95)
	// Nearly binomial: the reference row funnel_exact_binomial_limits.
	if lower != 179 || upper != 193 {
		t.Errorf("limits %d, %d", lower, upper)
	}
}

func TestKaplanMeierEnds(t *testing.T) {
	steps, err := KaplanMeier(10, []LifeEvent{{Day: 3, Dead: 4}, {Day: 5, Dead: 6}}, 2, 0.95)
	must(t, err)
	if len(steps) != 2 || steps[1].Survival != 0 || steps[1].HasInterval {
		t.Errorf("%+v", steps)
	}
	// phi multiplies the variance: the standard error grows by its root.
	one, err := KaplanMeier(10, []LifeEvent{{Day: 3, Dead: 4}}, 1, 0.95)
	must(t, err)
	near(t, "se ratio", steps[0].SE/one[0].SE, math.Sqrt2, 1e-12)
	for name, events := range map[string][]LifeEvent{
		"too many":  {{Day: 1, Dead: 11}},
		"backwards": {{Day: 2, Dead: 1}, {Day: 1, Dead: 1}},
		"negative":  {{Day: 2, Removed: -1}},
	} {
		if _, err := KaplanMeier(10, events, 1, 0.95); !errors.Is(err, ErrInput) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestSurvivalBounds(t *testing.T) {
	iv, err := SurvivalBounds(200, 14, 180) // 6 unaccounted for
	must(t, err)
	near(t, "lower", iv.Lower, 0.90, 1e-12)
	near(t, "upper", iv.Upper, 0.93, 1e-12)
	if _, err := SurvivalBounds(200, 14, 187); !errors.Is(err, ErrInput) {
		t.Errorf("too many: %v", err)
	}
}
