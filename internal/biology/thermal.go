package biology

import "reddside/internal/units"

// ThermalUnitsOfDay returns what one day at mean temperature t adds to the
// accumulated thermal units: t, and nothing below 0 C (requirement of the trade:
// ice-cold days stand still and never subtract).
func ThermalUnitsOfDay(t units.Celsius) units.ThermalUnits {
	if t > 0 {
		return units.ThermalUnits(t)
	}
	return 0
}

// ThermalUnitsAt returns the thermal units of some days at a constant
// temperature.
func ThermalUnitsAt(t units.Celsius, days float64) units.ThermalUnits {
	return ThermalUnitsOfDay(t) * units.ThermalUnits(days)
}

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
