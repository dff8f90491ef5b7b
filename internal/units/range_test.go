package units_test

import (
	"errors"
	"math"
	"testing"

	"reddside/internal/units"
)

func TestCheckRange(t *testing.T) {
	for _, v := range []float64{0, 20, 40} {
		if err := units.CheckRange("temperature", units.Celsius(v), 0, 40, "Cel"); err != nil {
			t.Errorf("%v: %v", v, err)
		}
	}
	for _, v := range []float64{-0.001, 40.001, math.NaN(), math.Inf(1), math.Inf(-1)} {
		err := units.CheckRange("temperature", units.Celsius(v), 0, 40, "Cel")
		var re units.RangeError
		if !errors.As(err, &re) || re.Quantity != "temperature" || re.Low != 0 || re.High != 40 || re.Unit != "Cel" {
			t.Errorf("%v: %v", v, err)
		}
	}
}
