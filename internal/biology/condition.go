package biology

import (
	"math"

	"reddside/internal/units"
)

// Fulton's factor of healthy fed fry and parr is about 0.9 to 1.2 (from
// memory); fry at first feeding are near 0.71 to 0.78 (derived from read pairs).
const (
	ConditionLow  = 0.9
	ConditionHigh = 1.2
)

// Condition returns Fulton's condition factor K = 100 W/L^3 (g, cm), of a fish
// from 0.01 to 10000 g and 10 to 1000 mm.
func Condition(w units.Grams, length units.Millimetres) (float64, error) {
	if err := units.CheckRange("fish_weight", w, 0.01, 10000, "g"); err != nil {
		return 0, err
	}
	if err := units.CheckRange("length", length, 10, 1000, "mm"); err != nil {
		return 0, err
	}
	return 1e5 * float64(w) / math.Pow(float64(length), 3), nil
}
