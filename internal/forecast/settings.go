package forecast

import "math"

// Settings are the doubts and tolerances of a forecast. Each default names its
// source; most are assumptions of this program that a programme may replace.
type Settings struct {
	// ThermometerBiasSD is the standard deviation of a thermometer's constant
	// error, C. Default 0.3: about +-0.5 C, common practice, no source.
	ThermometerBiasSD float64
	// StartUnitsSD is the error of the hatchery's thermal units at delivery,
	// degree-days. Default 10, assumption.
	StartUnitsSD float64
	// StartMeanSD is the error of a stated mean temperature, C. Default 0.5,
	// assumption; it counts only where the state is worked out from it.
	StartMeanSD float64
	// DaySD and DayRho describe how daily water temperature wanders about its
	// middle: standard deviation in C and day-to-day correlation. Defaults 0.5
	// and 0.8, assumption.
	DaySD, DayRho float64
	// DriftSD is the wandering of an unchilled tank's middle temperature, C per
	// square root of a day, before the tank's own record says better; it counts
	// for driftWeeks weeks of record. Default 0.25: the weekly means of three open
	// stream records wander by 0.13, 0.16 and 0.37 from October to April.
	DriftSD float64
	// FollowWithin is how near, in C and on average, a tank stays to its setpoint
	// to count as following it. Default 0.8, local choice.
	FollowWithin float64
	// DisagreeBy is the difference between a check and the logger of that day,
	// C, that raises a question. Default 1.0, local choice.
	DisagreeBy float64
	// LookSD is how exactly people see how many have hatched, as a share of the
	// days to hatch. Default 0.006 (about half a day), assumption.
	LookSD float64
	// ContradictionZ is how many standard deviations an observation may be off
	// before it is asked about instead of learnt from. Default 3, local choice.
	ContradictionZ float64
}

// DefaultSettings returns the defaults described at each field.
func DefaultSettings() Settings {
	return Settings{ThermometerBiasSD: 0.3, StartUnitsSD: 10, StartMeanSD: 0.5, DaySD: 0.5, DayRho: 0.8,
		DriftSD: 0.25, FollowWithin: 0.8, DisagreeBy: 1.0, LookSD: 0.006, ContradictionZ: 3}
}

func (s Settings) orDefault() Settings {
	if s == (Settings{}) {
		return DefaultSettings()
	}
	return s
}

// meanVar returns the variance of the mean of n consecutive days of a first-order
// autoregressive series, C squared. Source: science notes S7 (standard result).
func (s Settings) meanVar(n float64) float64 {
	if n <= 0 {
		return 0
	}
	v := s.DaySD * s.DaySD
	if n <= 1 {
		return v
	}
	r := s.DayRho
	if r <= 0 || r >= 1 {
		return v
	}
	m := v * (1 + r) / (1 - r) / n * (1 - 2*r*(1-math.Pow(r, n))/(n*(1-r*r)))
	return math.Min(m, v)
}

// weekNoise returns the variance of the difference between the means of two
// weeks that follow each other when nothing drifts.
func (s Settings) weekNoise() float64 {
	const n = 7
	r := s.DayRho
	if r <= 0 || r >= 1 {
		return 2 * s.meanVar(n)
	}
	q := (1 - math.Pow(r, n)) / (1 - r)
	return 2 * (s.meanVar(n) - s.DaySD*s.DaySD*r*q*q/(n*n))
}

// driftWeeks is for how many weekly changes DriftSD counts; local choice.
const driftWeeks = 2
