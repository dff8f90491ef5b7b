// Package water holds the water calculators: oxygen, ammonia, water change,
// dechlorination, eggs, biofilter, heat, ice, transport and tempering.
//
// Every function is pure. A value outside the range its formula holds for, NaN
// and infinity included, is answered with a RangeError and never with a number.
package water

import "reddside/internal/units"

// RangeError is the refusal every calculator of this package returns.
type RangeError = units.RangeError

// check is one argument with the range it must lie in.
type check struct {
	quantity     string
	v, low, high float64
	unit         string
}

// firstOutside returns the RangeError of the first argument outside its range.
func firstOutside(checks ...check) error {
	for _, c := range checks {
		if err := units.CheckRange(c.quantity, c.v, c.low, c.high, c.unit); err != nil {
			return err
		}
	}
	return nil
}
