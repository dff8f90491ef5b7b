package stats

import (
	"fmt"
	"math"
)

// DaysDead is a pick: days since the pick before it, and dead found.
type DaysDead struct {
	Days, Dead int
}

// DeadAnswer answers one question about one pick.
type DeadAnswer struct {
	Unusual     bool
	Flag        DeadFlag
	Limit       int     // more dead than this today is unusual
	ActLimit    int     // more dead than this today calls for action
	Probability float64 // of as many dead or more, the smallest of the last 1 to 3 checks together
	Expected    float64 // dead expected today for this tank
}

// JudgeDeadOnce runs the dead-count rule for a tank of which only a short
// history is known, oldest first, all in one stage. atRisk is the number alive
// before today's pick; before each earlier pick it is larger by the dead since.
//
// Probability is the tail of PredictiveTail even where the rule does not judge
// because fewer than MinDead were found; 1 when none were found today.
func JudgeDeadOnce(cfg DeadConfig, atRisk int, stage DeadStage, history []DaysDead, today DaysDead) (DeadAnswer,
	error) {
	if stage < 0 || int(stage) >= StageCount {
		return DeadAnswer{}, fmt.Errorf("%w: stage %d", ErrInput, stage)
	}
	rate := math.Max(cfg.Rates[stage], RateFloor)
	checks := make([]DeadCheck, len(history)+1)
	alive := atRisk
	for i := len(history); i >= 0; i-- {
		pick := today
		if i < len(history) {
			pick = history[i]
			if pick.Dead < 0 || pick.Dead > MaxAtRisk {
				return DeadAnswer{}, fmt.Errorf("check %d: %w: %+v", i, ErrInput, pick)
			}
			alive += pick.Dead
		}
		checks[i] = DeadCheck{Days: pick.Days, AtRisk: alive, Dead: pick.Dead, RateSum: rate * float64(pick.Days),
			Busy: stage == StageArrival || stage == StageHatching}
	}
	results, err := JudgeDead(cfg, checks)
	if err != nil {
		return DeadAnswer{}, err
	}
	r := results[len(results)-1]
	limits := cfg.Limits(r)
	p := 1.0
	if today.Dead > 0 {
		for w := range r.Windows {
			p = min(p, PredictiveTail(r.Found[w], r.Mu[w], cfg.Phi, r.A))
		}
	}
	return DeadAnswer{
		Unusual: r.Flag != DeadNone, Flag: r.Flag,
		Limit: limits.WatchAbove, ActLimit: limits.ActAbove,
		Probability: p, Expected: r.Mu[0],
	}, nil
}
