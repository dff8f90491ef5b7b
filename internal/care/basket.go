package care

import (
	"math"

	"reddside/internal/units"
	"reddside/internal/water"
)

// BasketLitres is the water that eggs in a basket have when nothing moves it: a
// basket of a usual size (local choice).
const BasketLitres units.Litres = 1

// EggUse is the oxygen, in mg an hour, of eggs at a temperature, taken at the end
// of the range of the read rates when it lies outside, and that temperature.
func EggUse(eggs int, t units.Celsius) (mgPerHour float64, at units.Celsius, err error) {
	at = units.Celsius(math.Min(water.EggOxygenHighC, math.Max(water.EggOxygenLowC, float64(t))))
	rate, err := water.EggOxygenRate(at)
	if err != nil {
		return 0, at, err
	}
	mgPerHour, err = water.EggOxygenUse(eggs, rate)
	return mgPerHour, at, err
}

// BasketHours is how long the oxygen of still water in a basket lasts for eggs,
// from have down to least. Alevins use more, so it is shorter for them.
func BasketHours(eggs int, t units.Celsius, have, least units.MgPerL) (float64, error) {
	use, _, err := EggUse(eggs, t)
	if err != nil {
		return 0, err
	}
	return water.OxygenReserve(BasketLitres, have, least, use)
}
