package care

import (
	"math"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// Rates at which warm water is brought back. Rainbow trout embryos switched at
// once between 5 and 10 C did as well as over 4 hours (Weber et al. 2016, abstract
// read); coho embryos bore changes of +8.4 to -6.2 C for 8 hours (Tang et al. 1987,
// abstract read). Sudden drops at the eyed stage and at hatching gave Atlantic
// salmon yolk-sac oedema (Peterson et al. 1977, abstract read), so it is slower
// than they bear, and slowest about hatching. The figures themselves are from
// memory; the step of a day is the programme's own where it has one.
const (
	CoolPerHour    = 1.0 // C, only above the limit to act on
	CoolPerDay     = 1.0 // C, eggs and alevins; fry bear twice that
	CoolPerDayNear = 0.5 // C, about hatching
	// coolInside is how far inside the limit to act on the first day ends, C: the
	// reading must be surely inside (local choice).
	coolInside = 0.5
)

// Cooling is water that is too warm, or too cold, and where it should be.
type Cooling struct {
	Now, Setpoint   units.Celsius
	ActLow, ActHigh units.Optional[units.Celsius] // of the stage in force
	Stage           logbook.Stage
	NearHatch       bool
	// PerDay is the programme's largest step in a day; absent takes CoolPerDay.
	PerDay units.Optional[units.CelsiusDelta]
}

// CoolingPlan is how the water is brought back.
type CoolingPlan struct {
	// Today is where the water should be tonight. It is inside the limits to act
	// on whatever the start.
	Today units.Celsius
	// Hours is the time for the way of today, at CoolPerHour; 0 when a day's step
	// is enough.
	Hours  float64
	PerDay units.CelsiusDelta
	Days   []units.Celsius // at the end of each later day; the last is the setpoint
	// TooMuch is true when even the setpoint is outside the limits.
	TooMuch bool
}

// NearHatch is the stretch of the development index in which cooling is gentlest
// (half of the eggs hatch at 1; local choice).
func NearHatch(index float64) bool { return index >= NearHatchFrom && index <= 1.15 }

// NearHatchFrom is the share of the way to hatch from which eggs are near it; local
// choice.
const NearHatchFrom = 0.9

// PlanCooling returns how water goes back to its setpoint: past a limit to act on
// it is inside the same day, about a degree an hour; then day by day.
func PlanCooling(c Cooling) CoolingPlan {
	step := float64(c.PerDay.Or(CoolPerDay))
	switch {
	case c.NearHatch:
		step = math.Min(step, step*CoolPerDayNear/CoolPerDay)
	case c.Stage.Order() >= logbook.Fry.Order():
		step *= 2
	}
	p := CoolingPlan{PerDay: units.CelsiusDelta(step)}
	now, goal := float64(c.Now), float64(c.Setpoint)
	sign := 1.0 // which way is back: +1 cools
	limit, limited := c.ActHigh.Get()
	if now < goal {
		sign = -1
		limit, limited = c.ActLow.Get()
	}
	p.TooMuch = limited && sign*(goal-float64(limit)) > 0
	at := now - sign*math.Min(step, sign*(now-goal))
	if limited && sign*(now-float64(limit)) > 0 {
		inside := float64(limit) - sign*coolInside
		if sign*(goal-inside) > 0 {
			inside = goal // never past the setpoint
		}
		if sign*(at-inside) > 0 {
			at = inside
			p.Hours = math.Abs(now-at) / CoolPerHour
		}
	}
	p.Today = units.Celsius(at)
	for sign*(at-goal) > 1e-9 && step > 0 {
		at -= sign * math.Min(step, sign*(at-goal))
		p.Days = append(p.Days, units.Celsius(at))
	}
	return p
}
