package water

import (
	_ "embed"

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
