package biology

import (
	_ "embed"

	"reddside/internal/units"
)

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
