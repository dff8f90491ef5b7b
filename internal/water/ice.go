package water

import (
	"math"

	"reddside/internal/units"
)

// Ice constants, and the range of ice temperatures.
const (
	iceFusionJPerKg = 334000.0
	iceJPerKgK      = 2100.0
	IceLowC         = -40.0
)

// IceToLower returns the kilograms of ice that bring a volume from one
// temperature down to another (both 0 to 50 C), with the ice from -40 to 0 C
// and its melt left in. Ice in sealed bottles cools as much when it has melted,
// and keeps chlorine out.
func IceToLower(v units.Litres, from, to, ice units.Celsius) (float64, error) {
	err := firstOutside(volumeCheck(v), tankCheck("from", from),
		check{"to", float64(to), TankLow, float64(from), "Cel"},
		check{"ice_temperature", float64(ice), IceLowC, 0, "Cel"})
	if err != nil {
		return 0, err
	}
	perKg := iceFusionJPerKg + WaterJPerKgK*float64(to) - iceJPerKgK*float64(ice)
	return float64(v) * WaterJPerKgK * float64(from-to) / perKg, nil
}

// IceToHold returns the kilograms of ice at 0 C per hour that hold the water
// at a temperature against a room and other heat; 0 when none is needed.
func IceToHold(ua float64, water, room units.Celsius, heatW float64) (float64, error) {
	watts, err := ChillerHold(ua, water, room, heatW)
	if err != nil {
		return 0, err
	}
	return math.Max(0, secondsPerHour*watts/(iceFusionJPerKg+WaterJPerKgK*float64(water))), nil
}

// WarmingCautions belong beside every answer about a chiller or power failure.
func WarmingCautions() []Caution { return []Caution{CautionSealedIce, CautionElectricity} }
