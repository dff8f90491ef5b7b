package stats

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// drawChecks draws a season of checks that is in range.
func drawChecks(t *rapid.T) []DeadCheck {
	alive := rapid.IntRange(1, 400).Draw(t, "eggs")
	n := rapid.IntRange(1, 30).Draw(t, "checks")
	out := make([]DeadCheck, n)
	for i := range out {
		days := rapid.IntRange(1, 16).Draw(t, "days")
		rate := rapid.Float64Range(RateFloor, 0.0035).Draw(t, "rate")
		dead := min(alive, rapid.SampledFrom([]int{0, 0, 0, 0, 1, 1, 2, 3, 5, 9, 30}).Draw(t, "dead"))
		out[i] = DeadCheck{Days: days, AtRisk: alive, Dead: dead, RateSum: rate * float64(days)}
		alive -= dead
	}
	return out
}

// The limits must say the same as the flags: more than the limit flags, the
// limit itself does not.
func TestLimitsAgreeWithFlags(t *testing.T) {
	cfg := DefaultDeadConfig()
	rapid.Check(t, func(t *rapid.T) {
		checks := drawChecks(t)
		last := len(checks) - 1
		flagAt := func(dead int) DeadFlag {
			checks[last].Dead = dead
			r, err := JudgeDead(cfg, checks)
			if err != nil {
				t.Fatal(err)
			}
			return r[last].Flag
		}
		r, err := JudgeDead(cfg, checks)
		if err != nil {
			t.Fatal(err)
		}
		limits := cfg.Limits(r[last])
		for _, c := range []struct {
			above int
			flag  DeadFlag
		}{{limits.WatchAbove, DeadWatch}, {limits.ActAbove, DeadAct}} {
			if c.above < 0 {
				t.Fatalf("limit %d", c.above)
			}
			if c.above < checks[last].AtRisk && flagAt(c.above+1) < c.flag {
				t.Fatalf("%d dead: no flag %d", c.above+1, c.flag)
			}
			if c.above <= checks[last].AtRisk && flagAt(c.above) >= c.flag {
				t.Fatalf("%d dead: flag %d", c.above, c.flag)
			}
		}
	})
}

// What is found later must not change an earlier answer, and more dead today
// must never calm the rule.
func TestRuleLooksBackOnlyAndGrows(t *testing.T) {
	cfg := DefaultDeadConfig()
	rapid.Check(t, func(t *rapid.T) {
		checks := drawChecks(t)
		all, err := JudgeDead(cfg, checks)
		if err != nil {
			t.Fatal(err)
		}
		k := rapid.IntRange(0, len(checks)-1).Draw(t, "k")
		part, err := JudgeDead(cfg, checks[:k+1])
		if err != nil {
			t.Fatal(err)
		}
		if part[k] != all[k] {
			t.Fatalf("check %d: %+v, alone %+v", k, all[k], part[k])
		}
		if checks[k].Dead < checks[k].AtRisk {
			more := append([]DeadCheck(nil), checks[:k+1]...)
			more[k].Dead++
			worse, err := JudgeDead(cfg, more)
			if err != nil {
				t.Fatal(err)
			}
			if worse[k].Flag < part[k].Flag || worse[k].MinP() > part[k].MinP() {
				t.Fatalf("one more dead calms: %+v, %+v", part[k], worse[k])
			}
		}
	})
}

// A tenth of the tank is found at one check among many learnt to be bad: the
// override does not depend on what was expected. Source: the rule's own text
// (10 % and at least 5).
func TestOverride(t *testing.T) {
	cfg := DefaultDeadConfig()
	for _, c := range []struct {
		atRisk, dead int
		rateSum      float64
		override     bool
	}{
		{atRisk: 50, dead: 5, rateSum: 0.5, override: true},
		{atRisk: 50, dead: 4, rateSum: 0.5, override: false},
		{atRisk: 40, dead: 4, rateSum: 0.5, override: false}, // 10 %, but fewer than 5
		{atRisk: 100, dead: 9, rateSum: 0.5, override: false},
		{atRisk: 100, dead: 10, rateSum: 0.5, override: true},
		{atRisk: 101, dead: 10, rateSum: 0.5, override: false},
	} {
		r, err := JudgeDead(cfg, []DeadCheck{{Days: 1, AtRisk: c.atRisk, Dead: c.dead, RateSum: c.rateSum}})
		if err != nil {
			t.Fatal(err)
		}
		if r[0].Override != c.override || (r[0].Flag == DeadAct) != c.override {
			t.Errorf("%+v: %+v", c, r[0])
		}
	}
}

// The cap on what is learnt: a first count of 30 may teach no more than the
// predictive 99 % point, found here by summing the negative binomial's terms
// P(k+1)/P(k) = (r+k)/(k+1) * q, apart from the incomplete beta of the rule.
func TestOutbreakTeachesLittle(t *testing.T) {
	cfg := DefaultDeadConfig()
	checks := []DeadCheck{
		{Days: 1, AtRisk: 200, Dead: 30, RateSum: 0.0035},
		{Days: 7, AtRisk: 170, Dead: 0, RateSum: 7 * 0.00056},
	}
	r, err := JudgeDead(cfg, checks)
	if err != nil {
		t.Fatal(err)
	}
	mu := 200 * 0.0035 // a/b = 1 at the start
	size := mu / ((cfg.Phi - 1) + mu/cfg.A0)
	q := mu / (size + mu)
	term := math.Pow(1-q, size)
	k, sum := 0, term
	for sum < 0.99 {
		term *= (size + float64(k)) / float64(k+1) * q
		k++
		sum += term
	}
	if got, want := r[1].A, cfg.A0+float64(k)/cfg.Phi; math.Abs(got-want) > 1e-12 {
		t.Errorf("a = %v, want %v (cap %d)", got, want, k)
	}
	if got, want := r[1].B, cfg.B0+mu/cfg.Phi; math.Abs(got-want) > 1e-12 {
		t.Errorf("b = %v, want %v", got, want)
	}
}

func TestFuzzMakesAWatchAnAct(t *testing.T) {
	cfg := firstClock()
	check := DeadCheck{Days: 1, AtRisk: 200, Dead: 4, RateSum: 0.0011}
	// mu 0.22, a 2: 4 dead is the smallest watch, 8 the smallest act
	// (reference rows smallest_dead_count_that_flags).
	for _, c := range []struct {
		dead int
		fuzz bool
		want DeadFlag
	}{{3, true, DeadNone}, {4, false, DeadWatch}, {4, true, DeadAct}, {7, false, DeadWatch}, {8, false, DeadAct}} {
		check.Dead, check.FuzzSeen = c.dead, c.fuzz
		r, err := JudgeDead(cfg, []DeadCheck{check})
		if err != nil {
			t.Fatal(err)
		}
		if r[0].Flag != c.want {
			t.Errorf("%d dead, fuzz %v: flag %d, want %d", c.dead, c.fuzz, r[0].Flag, c.want)
		}
	}
}

func TestJudgeDeadRefuses(t *testing.T) {
	good := DeadCheck{Days: 1, AtRisk: 10, Dead: 0, RateSum: 0.001}
	for name, change := range map[string]func(*DeadCheck){
		"no days":          func(c *DeadCheck) { c.Days = 0 },
		"more dead":        func(c *DeadCheck) { c.Dead = 11 },
		"negative dead":    func(c *DeadCheck) { c.Dead = -1 },
		"negative at risk": func(c *DeadCheck) { c.AtRisk = -1 },
		"no rate":          func(c *DeadCheck) { c.RateSum = 0 },
		"rate not finite":  func(c *DeadCheck) { c.RateSum = math.NaN() },
	} {
		c := good
		change(&c)
		if _, err := JudgeDead(DefaultDeadConfig(), []DeadCheck{good, c}); !errors.Is(err, ErrInput) {
			t.Errorf("%s: %v", name, err)
		}
	}
	cfg := DefaultDeadConfig()
	cfg.Phi = 0.5
	if _, err := JudgeDead(cfg, nil); !errors.Is(err, ErrInput) {
		t.Errorf("phi 0.5: %v", err)
	}
}

func TestJudgeDeadOnce(t *testing.T) {
	cfg := firstClock()
	quiet := []DaysDead{{3, 0}, {1, 1}, {1, 0}}
	got, err := JudgeDeadOnce(cfg, 196, StageEgg, quiet, DaysDead{1, 0})
	if err != nil {
		t.Fatal(err)
	}
	if got.Unusual || got.Probability != 1 {
		t.Errorf("nothing found: %+v", got)
	}
	// Alone, 196 eggs for one day: mean 0.10976 with a = b = 2. R's table rows
	// for mean 0.11: 3 dead is a watch, 6 an act.
	got, err = JudgeDeadOnce(cfg, 196, StageEgg, nil, DaysDead{1, 3})
	if err != nil {
		t.Fatal(err)
	}
	if !got.Unusual || got.Limit != 2 || got.ActLimit != 5 || got.Flag != DeadWatch {
		t.Errorf("%+v", got)
	}
	if want := PredictiveTail(3, 0.10976, 2, 2); math.Abs(got.Probability-want) > 1e-9 {
		t.Errorf("probability %v, want %v", got.Probability, want)
	}
	// The same three dead after a fortnight's gap are nothing.
	got, err = JudgeDeadOnce(cfg, 196, StageEgg, nil, DaysDead{14, 3})
	if err != nil {
		t.Fatal(err)
	}
	if got.Unusual {
		t.Errorf("after 14 days: %+v", got)
	}
	if _, err := JudgeDeadOnce(cfg, 196, DeadStage(9), nil, DaysDead{1, 0}); !errors.Is(err, ErrInput) {
		t.Errorf("stage 9: %v", err)
	}
	if _, err := JudgeDeadOnce(cfg, 196, StageEgg, []DaysDead{{1, -4}}, DaysDead{1, 0}); !errors.Is(err, ErrInput) {
		t.Errorf("negative history: %v", err)
	}
}

// BenchmarkSeason runs the rule over a season of 180 daily checks with 14 dead.
func BenchmarkSeason(b *testing.B) {
	cfg := DefaultDeadConfig()
	checks := make([]DeadCheck, 180)
	alive := 200
	for i := range checks {
		dead := 0
		if i%13 == 5 {
			dead = 1
		}
		checks[i] = DeadCheck{Days: 1, AtRisk: alive, Dead: dead, RateSum: 0.00056}
		alive -= dead
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := JudgeDead(cfg, checks); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkBadSeason has 3 dead or more in every window.
func BenchmarkBadSeason(b *testing.B) {
	cfg := DefaultDeadConfig()
	checks := make([]DeadCheck, 180)
	for i := range checks {
		checks[i] = DeadCheck{Days: 1, AtRisk: 1000 - 3*i, Dead: 3, RateSum: 0.0035}
	}
	for b.Loop() {
		if _, err := JudgeDead(cfg, checks); err != nil {
			b.Fatal(err)
		}
	}
}

// firstClock is the rule of the last one to three checks alone, at the levels of the
// reference rows.
func firstClock() DeadConfig {
	cfg := DefaultDeadConfig()
	cfg.ClockP, cfg.ActP = 0, 0.0007
	return cfg
}
