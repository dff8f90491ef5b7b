package water

import (
	"math"

	"reddside/internal/units"
)

// Load returns grams of fish per litre of water.
func Load(fish int, each units.Grams, v units.Litres) (float64, error) {
	err := firstOutside(check{"fish", float64(fish), 0, 1e7, ""},
		check{"fish_weight", float64(each), 0, 10000, "g"}, volumeCheck(v))
	if err != nil {
		return 0, err
	}
	return float64(fish) * float64(each) / float64(v), nil
}

// LoadStepPerF is the share of a transport load per Fahrenheit degree: 1000 lb
// at 52 F are 1278 at 47 F and 722 at 57 F (Piper et al. 1982 p. 356, read).
const LoadStepPerF = 0.0556

// LoadAtTemperature moves a safe transport load from the temperature it was
// found at to another, within 6 C of it: the rule is linear and would reach 0.
func LoadAtTemperature(load float64, at, to units.Celsius) (float64, error) {
	err := firstOutside(check{"load", load, 0, 1e6, ""}, tankCheck("temperature", at), tankCheck("temperature", to),
		check{"temperature_difference", float64(to - at), -6, 6, "K"})
	if err != nil {
		return 0, err
	}
	return load * (1 - LoadStepPerF*units.CelsiusDelta(to-at).Fahrenheit()), nil
}

// RateAtTemperature moves a rate of fish, such as oxygen use, to another
// temperature: it doubles every 10 C (extension sheet, read).
func RateAtTemperature(rate float64, at, to units.Celsius) (float64, error) {
	err := firstOutside(check{"rate", rate, 0, 1e6, ""}, tankCheck("temperature", at), tankCheck("temperature", to))
	if err != nil {
		return 0, err
	}
	return rate * math.Pow(2, float64(to-at)/10), nil
}

// BagOxygen returns grams of oxygen in a bag's gas at 1 atm, by the gas law,
// from its volume, temperature and share of oxygen. In a sealed bag carbon
// dioxide and ammonia end the trip before oxygen does.
func BagOxygen(gas units.Litres, t units.Celsius, share float64) (units.Grams, error) {
	err := firstOutside(volumeCheck(gas), tankCheck("temperature", t), check{"oxygen_share", share, 0, 1, ""})
	if err != nil {
		return 0, err
	}
	const gasConstant, molarO2 = 8.31446, 31.998 // L kPa/(mol K), g/mol
	moles := units.KilopascalPerAtmosphere * float64(gas) / (gasConstant * (float64(t) + kelvinOffset))
	return units.Grams(moles * share * molarO2), nil
}

// DensityIndex returns Piper's density index, lb of fish per cubic foot and
// inch of length (from memory); 0.5 is a guide for trout. In a closed classroom
// tank ammonia limits long before it does.
func DensityIndex(total units.Grams, length units.Millimetres, v units.Litres) (float64, error) {
	err := firstOutside(check{"biomass", float64(total), 0, 1e7, "g"},
		check{"length", float64(length), 5, 1000, "mm"}, volumeCheck(v))
	if err != nil {
		return 0, err
	}
	const litresPerCubicFoot = 28.316846592
	return float64(total) / gramsPerPound / (float64(v) / litresPerCubicFoot) / (float64(length) / millimetresPerInch),
		nil
}
