// Functions of handbooks that no page needs; published rows hold them, and they
// hold others.

package biology

import (
	"math"

	"reddside/internal/units"
)

// Haskell returns the daily feed in % of body weight as 300 x conversion x
// daily length gain / length (Haskell 1959, from memory): feed conversion from
// 0.3 to 5, lengths in mm.
func Haskell(conversion float64, dailyGain, length units.Millimetres) (float64, error) {
	if err := units.CheckRange("feed_conversion", conversion, 0.3, 5, ""); err != nil {
		return 0, err
	}
	if err := units.CheckRange("length_gain", dailyGain, 0, 5, "mm"); err != nil {
		return 0, err
	}
	if err := units.CheckRange("length", length, 10, 1000, "mm"); err != nil {
		return 0, err
	}
	return 300 * conversion * float64(dailyGain) / float64(length), nil
}

func checkGrowth(w units.Grams, t units.Celsius) error {
	if err := units.CheckRange("fish_weight", w, GrowthLowG, GrowthHighG, "g"); err != nil {
		return err
	}
	return units.CheckRange("temperature", t, GrowthLowC, GrowthHighC, "Cel")
}

// PercentPerDay returns growth in % of body weight a day, for 0.05 to 300 g and
// 0 to 30 C.
func (m GrowthModel) PercentPerDay(w units.Grams, t units.Celsius) (float64, error) {
	if err := checkGrowth(w, t); err != nil {
		return 0, err
	}
	return m.C * math.Pow(float64(w), -m.B) * m.pace(t), nil
}

// LengthGain returns the daily length gain of trout: 1.64 mm per C-month (from
// memory, trade rule; no Atlantic salmon figure), from 0 to 20 C.
func LengthGain(t units.Celsius) (units.Millimetres, error) {
	if err := units.CheckRange("temperature", t, 0, 20, "Cel"); err != nil {
		return 0, err
	}
	const perMonth, daysPerMonth = 1.64, 365.25 / 12
	return units.Millimetres(perMonth * float64(t) / daysPerMonth), nil
}

// Models returns every row of the table by id, or an error when the embedded
// table cannot be read. The map is shared: do not change it.
func Models() (map[string]*Model, error) { return catalogue() }

// DaysFor returns the days that a number of thermal units takes at a constant
// temperature, and false when the water is too cold for it ever to happen.
func DaysFor(u units.ThermalUnits, t units.Celsius) (float64, bool) {
	d := ThermalUnitsOfDay(t)
	if u <= 0 {
		return 0, true
	}
	if d == 0 {
		return 0, false
	}
	return float64(u / d), true
}
