package water

import (
	"math"

	"reddside/internal/units"
)

// Egg diameters that occur in salmonids, with room to spare, in mm.
const (
	EggLowMM  = 2.0
	EggHighMM = 12.0
)

const (
	millimetresPerInch = 25.4
	// vonBayerQuart is eggs per US liquid quart times cubic inches of diameter
	// (von Bayer 1910; from memory, fairly sure).
	vonBayerQuart = 67.67
	litresPerQt   = units.LitresPerUSGallon / 4
)

func eggCheck(d units.Millimetres) check {
	return check{"egg_diameter", float64(d), EggLowMM, EggHighMM, "mm"}
}

// EggDiameter returns the mean diameter of eggs that lie touching in a row in
// a V-shaped trough (von Bayer's method, read).
func EggDiameter(row units.Millimetres, eggs int) (units.Millimetres, error) {
	err := firstOutside(check{"eggs", float64(eggs), 1, 10000, ""}, check{"row", float64(row), 1, 10000, "mm"})
	if err != nil {
		return 0, err
	}
	d := row / units.Millimetres(eggs)
	if err := firstOutside(eggCheck(d)); err != nil {
		return 0, err
	}
	return d, nil
}

// EggsPerQuart returns the eggs in a US liquid quart of bulk, water poured off.
func EggsPerQuart(d units.Millimetres) (float64, error) {
	if err := firstOutside(eggCheck(d)); err != nil {
		return 0, err
	}
	return vonBayerQuart / math.Pow(float64(d)/millimetresPerInch, 3), nil
}

// EggsPerLitre returns the eggs in a litre of bulk, water poured off.
func EggsPerLitre(d units.Millimetres) (float64, error) {
	n, err := EggsPerQuart(d)
	return n / litresPerQt, err
}

// EggsByDisplacement returns the number of eggs that displace a volume of water
// in mL: the eggs' own volume, about 1.63 times more eggs per mL than in bulk.
// Best for small lots (Piper et al. 1982, read).
func EggsByDisplacement(displacedML float64, d units.Millimetres) (float64, error) {
	if err := firstOutside(check{"displaced", displacedML, 0, 1e6, "mL"}, eggCheck(d)); err != nil {
		return 0, err
	}
	return displacedML * 1000 / (math.Pi / 6 * math.Pow(float64(d), 3)), nil
}

// CountByWeight returns the number in a lot from a weighed and counted sample
// (Piper et al. 1982, read): for eggs or fish. Water left on the sample but not
// on the lot, or the reverse, is the usual error.
func CountByWeight(lot units.Grams, sampleCount int, sample units.Grams) (float64, error) {
	err := firstOutside(
		check{"lot_weight", float64(lot), 0, 1e7, "g"},
		check{"sample_count", float64(sampleCount), 1, 1e6, ""},
		check{"sample_weight", float64(sample), 0.001, 1e6, "g"},
	)
	if err != nil {
		return 0, err
	}
	return float64(lot) * float64(sampleCount) / float64(sample), nil
}
