package report

import (
	"math"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/stats"
)

// Settings of the survival of a tank. Deaths come in clumps, so that 200 eggs
// tell about as much as 100 that die one by one: Phi 2 is an assumption checked
// by simulation, until the programme has counted its own.
const (
	SurvivalPhi   = 2.0
	SurvivalLevel = 0.95
)

// Method says how an interval was worked out.
type Method string

// The methods. With removals alive before the last death, the survival is the
// product over the days (Kaplan-Meier).
const (
	ByWilson      Method = "wilson"
	ByKaplanMeier Method = "kaplan_meier"
)

// Alive is how many of a tank are or left alive, and what is not known of it.
type Alive struct {
	logbook.Totals
	Start     int // delivered and moved in
	Left      int // alive now, moved out, sampled and released
	Estimated bool
	// Lower and Upper are the shares alive if all, or none, of the unexplained
	// died.
	Lower, Upper float64
}

// Share is a survival with what it might be for many more animals of the same
// lot raised in the same way. It is no forecast of another tank.
type Share struct {
	Alive, Of    int
	Estimate     float64
	Lower, Upper float64 // at SurvivalLevel, widened for clumped deaths
	Method       Method
	Exact        stats.Interval // Clopper-Pearson, as if animals died one by one
}

// StageSurvival is the survival of one stage: those alive at its first check,
// and how many of them died before the first check of the next.
type StageSurvival struct {
	Stage    logbook.Stage // egg stages are one: eyed egg
	From, To civil.Date    // first day and last day
	Share
	// ZeroUpper is, without any death, the loss that could still be behind it:
	// one-sided, at SurvivalLevel.
	ZeroUpper float64
}

// CurvePoint is the survival from a day with deaths until the next.
type CurvePoint struct {
	On          civil.Date
	AtRisk      int
	Dead        int
	Survival    float64
	Lower       float64
	Upper       float64
	HasInterval bool // nobody left: no interval
}

// Survival is everything that is said of the survival of a season.
type Survival struct {
	Alive
	Season Share
	Stages []StageSurvival
	Curve  []CurvePoint // empty without deaths
	// Hundred are the same figures for a hundred dots: rounded, the ends outward.
	Hundred struct{ Alive, Lower, Upper int }
}

// AliveOf takes the account from the totals; ok is false when nothing came or
// when more are left than came. Moved out, sampled and released count as alive:
// they left the tank alive.
func AliveOf(t logbook.Totals) (v Alive, ok bool) {
	v.Totals, v.Start, v.Left = t, t.Delivered+t.MovedIn, t.Alive+t.MovedOut+t.Sampled+t.Released
	if v.Start < 1 || v.Left > v.Start || v.Left < 0 {
		return v, false
	}
	bounds, err := stats.SurvivalBounds(v.Start, t.Dead, v.Left)
	if err != nil {
		return v, false
	}
	v.Lower, v.Upper = bounds.Lower, bounds.Upper
	return v, true
}

// SurvivalOf works out the survival of a season to the end of a day. ok is false
// when nothing came, or when the account does not hold: then only Alive is
// filled.
func SurvivalOf(s *logbook.Season, today civil.Date) (v Survival, ok bool) {
	v.Alive, ok = AliveOf(s.TotalsOn(today))
	for i := range s.Deliveries {
		v.Estimated = v.Estimated || s.Deliveries[i].Method != logbook.ByHand
	}
	if !ok {
		return v, false
	}
	log := newLife(s, today)
	var fine bool
	if v.Curve, fine = log.curve(); !fine {
		return v, false
	}
	if v.Season, fine = shareOf(v.Left, v.Start-v.Dead, v.Start); !fine {
		return v, false
	}
	if n := len(v.Curve); n > 0 && log.disturbed() && v.Curve[n-1].HasInterval {
		last, worst := v.Curve[n-1], v.Season.Lower
		v.Season.Method, v.Season.Estimate, v.Season.Lower, v.Season.Upper = ByKaplanMeier, last.Survival, last.Lower,
			last.Upper
		if v.Unexplained > 0 { // the missing may all have died
			v.Season.Lower = math.Min(last.Lower, worst)
		}
	}
	v.Stages = log.stages()
	v.Hundred.Alive = int(math.Round(100 * v.Season.Estimate))
	if v.Season.Estimate < 1 { // one that died is not rounded away, and one that lives neither
		v.Hundred.Alive = min(v.Hundred.Alive, 99)
	}
	if v.Season.Estimate > 0 {
		v.Hundred.Alive = max(v.Hundred.Alive, 1)
	}
	v.Hundred.Lower, v.Hundred.Upper = int(math.Floor(100*v.Season.Lower+1e-9)), int(math.Ceil(100*v.Season.Upper-1e-9))
	return v, true
}

// shareOf is the survival of at least low and at most high of n: where they
// differ, nobody knows whether the rest died, and the interval covers both.
func shareOf(low, high, n int) (v Share, ok bool) {
	if n < 1 || low < 0 || high > n || low > high {
		return v, false
	}
	v = Share{Alive: low, Of: n, Estimate: float64(low) / float64(n), Method: ByWilson}
	a, err := stats.WilsonEffective(low, n, SurvivalPhi, SurvivalLevel)
	if err != nil {
		return v, false
	}
	b, err := stats.WilsonEffective(high, n, SurvivalPhi, SurvivalLevel)
	if err != nil {
		return v, false
	}
	v.Lower, v.Upper = a.Lower, b.Upper
	v.Exact, err = stats.ClopperPearson(low, n, SurvivalLevel)
	return v, err == nil
}
