package water

import (
	_ "embed"

	"reddside/internal/units"
)

// ChlorineHigh bounds the chlorine of tap water in mg/L as Cl2; the US limit
// for tap water is 4.0 (from memory).
const ChlorineHigh = 10.0

// Molar masses, g/mol.
const (
	molarCl2          = 70.906
	molarPentahydrate = 248.18 // Na2S2O3.5H2O
	molarAnhydrous    = 158.11 // Na2S2O3
	molarChloramine   = 51.476 // NH2Cl
	molarNH3          = 17.0305
	molarN            = 14.0067
)

// Milligrams of sodium thiosulfate per milligram of chlorine. The first two
// are the tetrathionate reaction, 2 S2O3 + Cl2 -> S4O6 + 2 Cl, which gives the
// 7.0 a reagent maker prints (read) and is the safe figure. Oxidation all the
// way to sulfate would need only the third.
const (
	PentahydratePerChlorine = 2 * molarPentahydrate / molarCl2
	AnhydrousPerChlorine    = 2 * molarAnhydrous / molarCl2
	PentahydrateToSulfate   = molarPentahydrate / (4 * molarCl2)
)

// Thiosulfate is a dose of sodium thiosulfate, as either of the two salts sold.
type Thiosulfate struct {
	Pentahydrate, Anhydrous units.Grams
	Cautions                []Caution
}

// Dechlorination returns the dose for new water before it meets the tank, for
// chlorine from 0 to 10 mg/L as Cl2. With chloramine the ammonia stays behind.
func Dechlorination(v units.Litres, chlorine units.MgPerL, chloramine bool) (Thiosulfate, error) {
	err := firstOutside(volumeCheck(v), check{"chlorine", float64(chlorine), 0, ChlorineHigh, "mg/L"})
	if err != nil {
		return Thiosulfate{}, err
	}
	mg := float64(v) * float64(chlorine)
	d := Thiosulfate{
		Pentahydrate: units.Grams(mg * PentahydratePerChlorine / 1000),
		Anhydrous:    units.Grams(mg * AnhydrousPerChlorine / 1000),
		Cautions:     []Caution{CautionAdultChemicals, CautionTestAfter},
	}
	if chloramine {
		d.Cautions = append(d.Cautions, CautionChloramine)
	}
	return d, nil
}

// ChloramineN returns the ammonia nitrogen, in mg/L, that treated chloramine
// leaves in the new water: one N per Cl2, 0.198 mg per mg.
func ChloramineN(chlorine units.MgPerL) (units.MgPerL, error) {
	if err := units.CheckRange("chlorine", chlorine, 0, ChlorineHigh, "mg/L"); err != nil {
		return 0, err
	}
	return chlorine * molarN / molarCl2, nil
}
