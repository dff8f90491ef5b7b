package water

import (
	"math"

	"reddside/internal/units"
)

// Oxygen use of fry, mg per kg of fish and hour: sockeye of 29 g at 15 C, at
// night and when feeding (Brett & Zala 1975, read). Smaller fish use more per
// gram, colder fish less.
const (
	FryOxygenNight   = 170.0
	FryOxygenFeeding = 370.0
)

// Range of the two read egg rates, C.
const (
	EggOxygenLowC  = 5.0
	EggOxygenHighC = 10.0
)

// EggOxygenRate returns mg of oxygen per egg and hour, Atlantic salmon, mean to
// hatch, from 5 to 10 C: 0.0141 and 0.0270 (read), geometric between. Other
// work gives less, so it is a safe upper bound.
func EggOxygenRate(t units.Celsius) (float64, error) {
	if err := units.CheckRange("temperature", t, EggOxygenLowC, EggOxygenHighC, "Cel"); err != nil {
		return 0, err
	}
	const at5, at10 = 0.0141, 0.0270
	return at5 * math.Pow(at10/at5, (float64(t)-5)/5), nil
}

// OxygenReserve returns the hours until oxygen falls from now to a minimum with
// no exchange at the surface, which is pessimistic: volume (now - minimum) /
// use, the use in mg per hour of everything alive in the water. It is 0 when
// oxygen is already at the minimum.
func OxygenReserve(v units.Litres, now, minimum units.MgPerL, mgPerHour float64) (float64, error) {
	err := firstOutside(volumeCheck(v),
		check{"oxygen", float64(now), 0, MeasuredOxygenHigh, "mg/L"},
		check{"minimum_oxygen", float64(minimum), 0, MeasuredOxygenHigh, "mg/L"},
		check{"oxygen_use", mgPerHour, 1e-6, 1e9, "mg/h"})
	if err != nil {
		return 0, err
	}
	return math.Max(0, float64(v)*float64(now-minimum)/mgPerHour), nil
}

// EggOxygenUse returns mg of oxygen per hour for a number of eggs.
func EggOxygenUse(eggs int, mgPerEggHour float64) (float64, error) {
	err := firstOutside(check{"eggs", float64(eggs), 0, 1e7, ""}, check{"egg_rate", mgPerEggHour, 0, 1, "mg/h"})
	if err != nil {
		return 0, err
	}
	return float64(eggs) * mgPerEggHour, nil
}

// FryOxygenUse returns mg of oxygen per hour for fish of a mean weight and a
// rate in mg per kg and hour.
func FryOxygenUse(fish int, each units.Grams, mgPerKgHour float64) (float64, error) {
	err := firstOutside(check{"fish", float64(fish), 0, 1e7, ""},
		check{"fish_weight", float64(each), 0, 10000, "g"}, check{"fish_rate", mgPerKgHour, 0, 5000, "mg/kg/h"})
	if err != nil {
		return 0, err
	}
	return float64(fish) * float64(each) / 1000 * mgPerKgHour, nil
}

// Group of fish in Liao's equation.
type Group int

// Groups of Liao 1971.
const (
	Trout Group = iota
	Salmon
)

// Range of LiaoRate; the bounds are ours.
const (
	LiaoLowC, LiaoHighC = 1.0, 21.0
	LiaoLowG, LiaoHighG = 0.1, 5000.0
)

const gramsPerPound = 453.59237

// LiaoRate returns the oxygen use of fish in mg per kg and hour from 1 to 21 C
// and 0.1 to 5000 g, by Liao 1971 (from memory, moderately sure). Below about
// 10 g it is an extrapolation. The trout pair jumps by 9 % at 10 C (50 F).
func LiaoRate(g Group, t units.Celsius, each units.Grams) (float64, error) {
	err := firstOutside(check{"group", float64(g), float64(Trout), float64(Salmon), ""},
		check{"temperature", float64(t), LiaoLowC, LiaoHighC, "Cel"},
		check{"fish_weight", float64(each), LiaoLowG, LiaoHighG, "g"})
	if err != nil {
		return 0, err
	}
	f := float64(t.Fahrenheit())
	var k, a, b float64
	// 50 F typed as 10 C comes back as 50 give or take a rounding error.
	cold := f <= 50+1e-9
	switch {
	case g == Trout && cold:
		k, a, b = 1.90e-6, 3.130, -0.138
	case g == Trout:
		k, a, b = 3.05e-4, 1.855, -0.138
	case cold:
		k, a, b = 7.20e-7, 3.200, -0.194
	default:
		k, a, b = 4.90e-5, 2.120, -0.194
	}
	poundsPerHundred := k * math.Pow(f, a) * math.Pow(float64(each)/gramsPerPound, b)
	return poundsPerHundred * 1e4 / 24, nil
}
