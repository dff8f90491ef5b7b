package stats

import (
	"errors"
	"fmt"
	"math"
)

// ErrTooFew is returned (wrapped) when there is too little data to answer.
var ErrTooFew = errors.New("stats: too few data")

// MinRecalibration is the number of checks below which Recalibrate refuses.
const MinRecalibration = 200

// PastCheck is a check of a closed season, for Recalibrate.
type PastCheck struct {
	AtRisk    int
	Dead      int
	Stage     DeadStage       // the stage on the day of the check
	Days      [StageCount]int // days since the pick before, by stage
	Confirmed bool            // part of an episode that was flagged and confirmed: left out
}

// Recalibrate returns cfg with the rates and the dispersion of the programme's
// own checks; do it between seasons. Stage rate = dead found / alive-days in the
// stage, never below RateFloor; a stage without alive-days keeps its rate.
// phi = sum (x-mu)^2 / sum mu with the new rates, held to 1.5..5.
// With fewer than MinRecalibration checks the error wraps ErrTooFew.
func Recalibrate(cfg DeadConfig, past []PastCheck) (DeadConfig, error) {
	var dead, days StageRates
	used := 0
	for i, c := range past {
		if c.Stage < 0 || int(c.Stage) >= StageCount || c.Dead < 0 || c.AtRisk < c.Dead {
			return cfg, fmt.Errorf("check %d: %w: %+v", i, ErrInput, c)
		}
		if c.Confirmed {
			continue
		}
		used++
		dead[c.Stage] += float64(c.Dead)
		for s, d := range c.Days {
			days[s] += float64(d * c.AtRisk)
		}
	}
	if used < MinRecalibration {
		return cfg, fmt.Errorf("%w: %d checks of %d", ErrTooFew, used, MinRecalibration)
	}
	for s := range cfg.Rates {
		if days[s] > 0 {
			cfg.Rates[s] = math.Max(dead[s]/days[s], RateFloor)
		}
	}
	var square, mean float64
	for _, c := range past {
		if c.Confirmed {
			continue
		}
		mu := float64(c.AtRisk) * cfg.RateSum(c.Days)
		d := float64(c.Dead) - mu
		square += d * d
		mean += mu
	}
	if mean > 0 {
		cfg.Phi = math.Min(5, math.Max(1.5, square/mean))
	}
	return cfg, nil
}
