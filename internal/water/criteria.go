package water

import (
	_ "embed"
	"math"

	"reddside/internal/units"
)

// Range of the EPA 2013 ammonia tables (from memory).
const (
	EPALowPH, EPAHighPH = 6.5, 9.0
	EPALowC, EPAHighC   = 0.0, 30.0
)

func checkEPA(t units.Celsius, ph float64) error {
	return firstOutside(
		check{"temperature", float64(t), EPALowC, EPAHighC, "Cel"},
		check{"ph", ph, EPALowPH, EPAHighPH, "pH"},
	)
}

// EPAChronicTAN returns the US EPA 2013 30-day criterion for total ammonia, in
// mg/L as nitrogen. It is a total-ammonia limit: never compare un-ionised
// ammonia with it. Formula from memory; it gives the printed 1.9 at pH 7, 20 C.
func EPAChronicTAN(t units.Celsius, ph float64) (units.MgPerL, error) {
	if err := checkEPA(t, ph); err != nil {
		return 0, err
	}
	warm := math.Max(float64(t), 7)
	v := 0.8876 * (0.0278/(1+math.Pow(10, 7.688-ph)) + 1.1994/(1+math.Pow(10, ph-7.688))) *
		2.126 * math.Pow(10, 0.028*(20-warm))
	return units.MgPerL(v), nil
}

// CopperHardnessHigh is the hardness in mg/L CaCO3 to which the copper equation
// is used here; the guideline stops rising near it (from memory).
const CopperHardnessHigh = 180.0
