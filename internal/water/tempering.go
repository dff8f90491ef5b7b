package water

import (
	"math"

	"reddside/internal/units"
)

// TemperingGap is a difference between transport and stream water that is
// stressful or fatal: 10 F (wildlife agency and hatchery sheets, read).
const TemperingGap units.CelsiusDelta = 5.6

// Tempering returns the temperature after each step when a fraction of the
// water (0.01 to 1) is replaced with water at to, until it is within a
// difference (0.01 to 20 C) of it. No steps are needed when it already is.
// Tempering is a caution and lets pH adjust; it does not make warm water safe.
func Tempering(from, to units.Celsius, fraction float64, within units.CelsiusDelta) ([]units.Celsius, error) {
	err := firstOutside(check{"from", float64(from), 0, 40, "Cel"}, check{"to", float64(to), 0, 40, "Cel"},
		check{"fraction", fraction, 0.01, 1, ""}, check{"within", float64(within), 0.01, 20, "K"})
	if err != nil {
		return nil, err
	}
	// The tolerance keeps an exact arrival, such as 8 to 4 in halves, from
	// costing a step more by rounding.
	const tolerance = 1e-9
	var steps []units.Celsius
	gap := float64(from - to)
	for n := 1; math.Abs(gap) > float64(within)+tolerance; n++ {
		gap = float64(from-to) * math.Pow(1-fraction, float64(n))
		steps = append(steps, to+units.Celsius(gap))
	}
	return steps, nil
}
