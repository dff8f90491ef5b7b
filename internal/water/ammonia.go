package water

import (
	"math"

	"reddside/internal/units"
)

// Ranges of the ammonia calculators.
const (
	AmmoniaLowC  = 0.0  // Emerson et al. 1975, read
	AmmoniaHighC = 50.0 // same
	PHLow        = 0.0  // the pH scale; the acid-base balance holds at any pH
	PHHigh       = 14.0
	// NitrogenHigh bounds typed nitrogen concentrations, mg/L; far above any
	// tank and any kit.
	NitrogenHigh = 5000.0
)

// Ion is the mass of a nitrogen compound per mass of the nitrogen in it. Kits
// and limits differ in which of the two they print.
type Ion float64

// Nitrogen compounds, from the molar masses N 14.0067, H 1.00794, O 15.9994.
const (
	NH3 Ion = (14.0067 + 3*1.00794) / 14.0067
	NH4 Ion = (14.0067 + 4*1.00794) / 14.0067
	NO2 Ion = (14.0067 + 2*15.9994) / 14.0067
	NO3 Ion = (14.0067 + 3*15.9994) / 14.0067
)

// FromN converts a concentration as nitrogen to one as the compound.
func (i Ion) FromN(n units.MgPerL) units.MgPerL { return n * units.MgPerL(i) }

// AsN converts a concentration as the compound to one as nitrogen.
func (i Ion) AsN(c units.MgPerL) units.MgPerL { return c / units.MgPerL(i) }

// AmmoniaFraction returns the un-ionised share of total ammonia, 0 to 1, in
// very dilute fresh water from 0 to 50 C. Hard or salted water lowers it a
// little.
//
// Emerson, Russo, Lund & Thurston 1975, J. Fish. Res. Board Can. 32:2379-2383,
// read in public source files.
func AmmoniaFraction(t units.Celsius, ph float64) (float64, error) {
	err := firstOutside(
		check{"temperature", float64(t), AmmoniaLowC, AmmoniaHighC, "Cel"},
		check{"ph", ph, PHLow, PHHigh, "pH"},
	)
	if err != nil {
		return 0, err
	}
	pKa := 0.09018 + 2729.92/(float64(t)+kelvinOffset)
	return 1 / (math.Pow(10, pKa-ph) + 1), nil
}

// Ammonia is the un-ionised part of a total ammonia reading.
type Ammonia struct {
	Fraction float64      // un-ionised share, 0 to 1
	NH3N     units.MgPerL // un-ionised ammonia as nitrogen
	NH3      units.MgPerL // un-ionised ammonia as NH3: what most limits mean
}

// UnionisedAmmonia splits a total ammonia reading, in mg/L as nitrogen from 0
// to 5000, by temperature (0 to 50 C) and pH.
func UnionisedAmmonia(tan units.MgPerL, t units.Celsius, ph float64) (Ammonia, error) {
	if err := units.CheckRange("tan", tan, 0, NitrogenHigh, "mg/L"); err != nil {
		return Ammonia{}, err
	}
	f, err := AmmoniaFraction(t, ph)
	if err != nil {
		return Ammonia{}, err
	}
	n := tan * units.MgPerL(f)
	return Ammonia{Fraction: f, NH3N: n, NH3: NH3.FromN(n)}, nil
}

// MaxTAN returns the largest total ammonia, in mg/L as nitrogen, that keeps
// un-ionised ammonia at or below a limit. The limit is in mg/L as NH3, not as
// nitrogen.
func MaxTAN(limitNH3 units.MgPerL, t units.Celsius, ph float64) (units.MgPerL, error) {
	if err := units.CheckRange("limit", limitNH3, 0, 10, "mg/L"); err != nil {
		return 0, err
	}
	f, err := AmmoniaFraction(t, ph)
	if err != nil {
		return 0, err
	}
	return NH3.AsN(limitNH3) / units.MgPerL(f), nil
}
