package water

import (
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

// EPAAcuteTAN returns the US EPA 2013 one-hour criterion for total ammonia
// where salmonids live, in mg/L as nitrogen. Formula from memory; it gives the
// printed 17 at pH 7, 20 C.
func EPAAcuteTAN(t units.Celsius, ph float64) (units.MgPerL, error) {
	if err := checkEPA(t, ph); err != nil {
		return 0, err
	}
	low, high := 1+math.Pow(10, 7.204-ph), 1+math.Pow(10, ph-7.204)
	salmonids := 0.275/low + 39.0/high
	others := 0.7249 * (0.0114/low + 1.6181/high) * 23.12 * math.Pow(10, 0.036*(20-float64(t)))
	return units.MgPerL(math.Min(salmonids, others)), nil
}

// CopperHardnessHigh is the hardness in mg/L CaCO3 to which the copper equation
// is used here; the guideline stops rising near it (from memory).
const CopperHardnessHigh = 180.0

// CCMECopper returns the Canadian copper guideline in ug/L at a hardness from 0
// to 180 mg/L CaCO3: 2 to hardness 90, then rising (read, Statistics Canada).
func CCMECopper(hardness float64) (float64, error) {
	if err := units.CheckRange("hardness", hardness, 0, CopperHardnessHigh, "mg/L"); err != nil {
		return 0, err
	}
	if hardness <= 90 {
		return 2, nil
	}
	return 0.2 * math.Exp(0.8545*math.Log(hardness)-1.465), nil
}
