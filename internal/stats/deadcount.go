package stats

import (
	"fmt"
	"math"
)

// DeadStage is a stretch of the season with its own usual death rate.
type DeadStage int

// The stretches, in the order of the season. Arrival is the first four days
// after delivery; Hatching is the hatch week.
const (
	StageArrival DeadStage = iota
	StageEgg
	StageHatching
	StageAlevin
	StageSwimUp
	StageFry
	StageCount = int(StageFry) + 1
)

// StageRates is the usual share of the living that dies per day, by DeadStage.
type StageRates [StageCount]float64

// RateFloor is the smallest rate per day that the rule works with.
const RateFloor = 0.0002

// DefaultStageRates returns the rates of an invented programme that loses 7 %
// in a season, split over the stages (alevins: a tenth of it in 30 days). They
// are an assumption, to be replaced by Recalibrate.
func DefaultStageRates() StageRates {
	return StageRates{
		StageArrival:  0.0035,
		StageEgg:      0.00056,
		StageHatching: 0.0035,
		StageAlevin:   0.07 * 0.10 / 30,
		StageSwimUp:   0.00105,
		StageFry:      RateFloor,
	}
}

// MaxWindow is the longest run of checks that is judged together.
const MaxWindow = 3

// DeadConfig holds the settings of the dead-count rule.
type DeadConfig struct {
	Rates         StageRates
	Phi           float64 // dispersion of the dead found, 1..100
	A0, B0        float64 // Gamma prior of the tank's own multiplier, 0.01..1000
	GuardDays     int     // a check teaches only when this old, days
	CapLevel      float64 // a count teaches at most this predictive quantile
	WatchP, ActP  float64 // tail probabilities at or below which a flag rises
	MinDead       int     // fewest dead in a window for a flag
	OverrideShare float64 // act when one check finds this share of the living...
	OverrideDead  int     // ...and at least this many

	// The second clock: the dead of the last ClockDays days together, for outbreaks
	// too slow for the last few checks.
	ClockDays  [2]int  // lengths, days, the shorter first; 0 for none
	ClockP     float64 // act at or below this tail probability; 0 turns the clock off
	ClockBusyP float64 // the same where some of its days are after arrival or in the hatch week
	ClockDead  int     // fewest dead
	ClockShare float64 // and the fewest as a share of the living
	ClockGuard int     // what it holds usual is learnt from checks this old, days; at least GuardDays
}

// DefaultDeadConfig returns the settings that were simulated. Dispersion, prior
// and thresholds are assumptions checked by simulation (package sim).
func DefaultDeadConfig() DeadConfig {
	return DeadConfig{
		Rates: DefaultStageRates(), Phi: 2, A0: 2, B0: 2, GuardDays: 7, CapLevel: 0.99,
		WatchP: 0.01, ActP: 0.0002, MinDead: 3, OverrideShare: 0.10, OverrideDead: 5,
		ClockDays: [2]int{7, 14}, ClockP: 0.0055, ClockBusyP: 0.0015, ClockDead: 7, ClockShare: 0.035, ClockGuard: 21,
	}
}

// RateSum adds the daily rates of the days since the last pick; days[s] is the
// number of those days in stage s.
func (c DeadConfig) RateSum(days [StageCount]int) float64 {
	var sum float64
	for s, d := range days {
		sum += float64(d) * math.Max(c.Rates[s], RateFloor)
	}
	return sum
}

// Validate returns an error that wraps ErrInput when a setting makes no sense.
func (c DeadConfig) Validate() error {
	for _, r := range c.Rates {
		if !(r >= 0 && r < 1) {
			return fmt.Errorf("%w: rate %v", ErrInput, r)
		}
	}
	ok := c.Phi >= 1 && c.Phi <= 100 && between(c.A0, 0.01, 1000) && between(c.B0, 0.01, 1000) && c.GuardDays >= 0 &&
		c.CapLevel > 0 && c.CapLevel < 1 && c.ActP > 0 && c.ActP <= c.WatchP && c.WatchP < 1 &&
		c.ClockDays[0] >= 0 && c.ClockDays[1] >= c.ClockDays[0] && between(c.ClockP, 0, c.WatchP) &&
		between(c.ClockBusyP, 0, c.WatchP) && c.ClockDead >= 1 &&
		between(c.ClockShare, 0, 1) && c.ClockGuard >= c.GuardDays && c.MinDead >= 1 && c.OverrideShare > 0 &&
		c.OverrideShare <= 1 && c.OverrideDead >= 1
	if !ok {
		return fmt.Errorf("%w: dead-count settings %+v", ErrInput, c)
	}
	return nil
}

// What a check may hold; beyond it somebody mistyped.
const (
	MaxDays   = 400
	MaxAtRisk = 1_000_000
)

// DeadCheck is one look at a tank at which the dead were picked and counted.
// Looks on the same day are added up by the caller.
type DeadCheck struct {
	Days     int     // since the previous pick (or since delivery), 1..MaxDays
	AtRisk   int     // alive before this pick, as far as is known, 0..MaxAtRisk
	Dead     int     // picked now, 0..AtRisk
	RateSum  float64 // sum of the daily rates over Days, see DeadConfig.RateSum
	FuzzSeen bool    // white fuzz was seen: a watch counts as an act
	Busy     bool    // some of Days are after arrival or in the hatch week: the second clock asks more
}

func between(x, low, high float64) bool { return x >= low && x <= high }

// DeadFlag is what the rule says about a check.
type DeadFlag int

// The flags, weakest first.
const (
	DeadNone DeadFlag = iota
	DeadWatch
	DeadAct
)

// DeadResult is the rule's answer for one check. Index w of the arrays stands
// for the last w+1 checks together.
type DeadResult struct {
	AtRisk   int
	Expected float64            // dead expected at this check from the rates alone
	A, B     float64            // what the tank has taught so far: Gamma(A, B)
	Days     [MaxWindow]int     // days covered
	Found    [MaxWindow]int     // dead found
	Mu       [MaxWindow]float64 // dead expected, with the tank's multiplier
	P        [MaxWindow]float64 // tail probability; 1 when the window is not judged
	Windows  int                // how many of the windows exist yet, 1..MaxWindow
	Flag     DeadFlag
	Window   int  // how many checks the flag rests on; 0 without a flag
	Override bool // the flag rests on the share of the tank lost at one check

	Clock Clock // the second clock, when the flag rests on it
}

// Clock is what the second clock saw.
type Clock struct {
	On          bool
	Days, Found int     // the days together, and the dead found in them
	Mu, A       float64 // expected, and the weight of what the tank has taught
	P           float64 // the tail probability at or below which it speaks

	stretch [2]clockStretch // by DeadConfig.ClockDays
	least   int             // fewest dead; 0 where the clock is off
}

// clockStretch is one of the stretches: its days, the dead before today, and the
// dead expected.
type clockStretch struct {
	days, before int
	mu, p        float64
}

// MinP returns the smallest tail probability of the windows.
func (r DeadResult) MinP() float64 { return min(r.P[0], r.P[1], r.P[2]) }

// JudgeDead runs the dead-count rule over the checks of one season, oldest
// first, and returns one result per check.
//
// Expected dead E = AtRisk * RateSum. The tank's multiplier is Gamma(a, b),
// a = A0 + sum x/phi, b = B0 + sum E/phi over checks at least GuardDays old,
// where x is the dead found, at most the predictive CapLevel point of that
// check, so that an outbreak does not teach the rule to be quiet. The dead of
// the last 1, 2 and 3 checks are compared with the negative binomial of
// PredictiveTail with mean E*a/b. A window counts when it holds MinDead and
// today at least one.
//
// Source: gamma-Poisson mixture (textbook); thresholds by simulation.
func JudgeDead(cfg DeadConfig, checks []DeadCheck) ([]DeadResult, error) {
	if err := cfg.Validate(); err != nil {
		return nil, err
	}
	run := DeadRun{cfg: cfg, results: make([]DeadResult, 0, len(checks)), marks: make([]deadMark, 0, len(checks)),
		checks: make([]DeadCheck, 0, len(checks))}
	for i, c := range checks {
		if err := run.Add(c); err != nil {
			return nil, fmt.Errorf("check %d: %w", i, err)
		}
	}
	return run.results, nil
}

func (c DeadCheck) validate() error {
	ok := c.Days >= 1 && c.Days <= MaxDays && c.AtRisk >= 0 && c.AtRisk <= MaxAtRisk &&
		c.Dead >= 0 && c.Dead <= c.AtRisk && c.RateSum > 0 && c.RateSum <= MaxDays
	if !ok {
		return fmt.Errorf("%w: %+v", ErrInput, c)
	}
	return nil
}

// taughtCount caps a count at the predictive CapLevel point of its own check:
// x is above that point exactly when P(X >= x) <= 1 - CapLevel.
func (cfg *DeadConfig) taughtCount(x int, r *DeadResult) int {
	tail := 1 - cfg.CapLevel
	if x == 0 || PredictiveTail(x, r.Mu[0], cfg.Phi, r.A) > tail {
		return x
	}
	return min(x, PredictiveQuantile(cfg.CapLevel, r.Mu[0], cfg.Phi, r.A))
}

// judge fills in windows and flag of the last check.
func (cfg *DeadConfig) judge(r *DeadResult, checks []DeadCheck, results []DeadResult, mark *deadMark) {
	last := len(checks) - 1
	today := checks[last]
	var expected float64
	var days, found int
	r.Windows = min(MaxWindow, len(checks))
	for w := range r.Windows {
		days += checks[last-w].Days
		found += checks[last-w].Dead
		expected += results[last-w].Expected
		r.Days[w], r.Found[w], r.Mu[w] = days, found, expected*r.A/r.B
		if today.Dead < 1 || found < cfg.MinDead {
			continue
		}
		r.P[w] = PredictiveTail(found, r.Mu[w], cfg.Phi, r.A)
		if r.P[w] <= cfg.WatchP && (r.Window == 0 || r.P[w] < r.P[r.Window-1]) {
			r.Window = w + 1
		}
	}
	switch p := r.MinP(); {
	case p <= cfg.ActP:
		r.Flag = DeadAct
	case p <= cfg.WatchP:
		r.Flag = DeadWatch
	}
	if today.Dead >= cfg.overrideAt(today.AtRisk) {
		r.Flag, r.Override = DeadAct, true
		r.Window = max(r.Window, 1)
	}
	cfg.judgeClock(r, checks, results, mark)
	if r.Flag == DeadWatch && today.FuzzSeen {
		r.Flag = DeadAct
	}
}

// judgeClock looks at the dead of the last days together. A stretch ends before the
// check that would make it longer than it may be.
func (cfg *DeadConfig) judgeClock(r *DeadResult, checks []DeadCheck, results []DeadResult, mark *deadMark) {
	last := len(checks) - 1
	today := checks[last]
	if cfg.ClockP == 0 {
		return
	}
	c := &r.Clock
	c.A = mark.slowA
	c.least = max(cfg.ClockDead, int(math.Ceil(cfg.ClockShare*float64(today.AtRisk)-1e-9)))
	k, days, found, expected, p := last, 0, 0, 0.0, cfg.ClockP
	for i, length := range cfg.ClockDays { // the longer goes on where the shorter ended
		for ; k >= 0 && days+checks[k].Days <= length; k-- {
			if checks[k].Busy {
				p = cfg.ClockBusyP
			}
			days, found, expected = days+checks[k].Days, found+checks[k].Dead, expected+results[k].Expected
		}
		if days == 0 {
			continue
		}
		mu := expected * mark.slowA / mark.slowB
		c.stretch[i] = clockStretch{days, found - today.Dead, mu, p}
		if !c.On && r.Flag < DeadAct && today.Dead > 0 && found >= c.least &&
			PredictiveTail(found, mu, cfg.Phi, c.A) <= p {
			r.Flag, c.On, c.Days, c.Found, c.Mu, c.P = DeadAct, true, days, found, mu, p
		}
	}
}

// overrideAt returns the count at one check that means act whatever was
// expected.
func (cfg *DeadConfig) overrideAt(atRisk int) int {
	share := int(math.Ceil(cfg.OverrideShare*float64(atRisk) - 1e-9))
	return max(share, cfg.OverrideDead)
}

// Limits are today's counts that could still happen by luck: more than
// WatchAbove raises a watch, more than ActAbove an act (without fuzz).
type Limits struct {
	WatchAbove, ActAbove int
}

// Limits works out today's limits for the check of r, given what the checks
// before it found.
func (cfg DeadConfig) Limits(r DeadResult) Limits {
	return Limits{
		WatchAbove: min(cfg.smallestToday(r, cfg.WatchP), cfg.smallestByClock(r)) - 1,
		ActAbove:   min(cfg.smallestToday(r, cfg.ActP), cfg.smallestByClock(r)) - 1,
	}
}

// smallestByClock is the smallest count today that the second clock calls act.
func (cfg DeadConfig) smallestByClock(r DeadResult) int {
	least := maxCount
	for _, c := range r.Clock.stretch {
		if c.days > 0 && c.p > 0 {
			least = min(least, max(1, SmallestUnusual(c.mu, cfg.Phi, r.Clock.A, c.p, r.Clock.least)-c.before))
		}
	}
	return least
}

func (cfg DeadConfig) smallestToday(r DeadResult, alpha float64) int {
	least := cfg.overrideAt(r.AtRisk)
	for w := range r.Windows {
		before := r.Found[w] - r.Found[0]
		total := SmallestUnusual(r.Mu[w], cfg.Phi, r.A, alpha, cfg.MinDead)
		least = min(least, max(1, total-before))
	}
	return least
}
