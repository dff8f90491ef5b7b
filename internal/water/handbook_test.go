// Functions of handbooks that no page needs; published rows hold them, and they
// hold others.

package water

import (
	"math"

	"reddside/internal/units"
)

// TANFromFeedRate is TANFromFeed with a rate in grams of ammonia nitrogen per
// kg of feed, 0 to 100; 25 was printed for feeds of 30 to 40 % protein (read).
func TANFromFeedRate(feed units.Grams, gramsPerKg float64) (units.Grams, error) {
	err := firstOutside(check{"feed", float64(feed), 0, 1e6, "g"}, check{"tan_per_kg", gramsPerKg, 0, 100, "g/kg"})
	if err != nil {
		return 0, err
	}
	return feed * units.Grams(gramsPerKg/1000), nil
}

// Excretion returns mg of ammonia nitrogen a day from a weight of fish and a
// rate in mg N per kg and hour.
func Excretion(fish units.Grams, rate float64) (float64, error) {
	err := firstOutside(check{"biomass", float64(fish), 0, 1e7, "g"}, check{"excretion_rate", rate, 0, 200, "mg/kg/h"})
	if err != nil {
		return 0, err
	}
	return float64(fish) / 1000 * rate * 24, nil
}

// EPAAcuteTAN returns the US EPA 2013 one-hour criterion for total ammonia
// where salmonids live, in mg/L as nitrogen. Formula from memory; it gives the
// printed 17 at pH 7, 20 C.
func EPAAcuteTAN(t units.Celsius, ph float64) (units.MgPerL, error) {
	if err := checkEPA(t, ph); err != nil {
		return 0, err
	}
	low, high := 1+math.Pow(10, 7.204-ph), 1+math.Pow(10, ph-7.204)
	salmonids := 0.275/low + 39.0/high
	others := 0.7249 * (0.0114/low + 1.6181/high) * 23.12 * math.Pow(10, 0.036*(20-float64(t)))
	return units.MgPerL(math.Min(salmonids, others)), nil
}

// CCMECopper returns the Canadian copper guideline in ug/L at a hardness from 0
// to 180 mg/L CaCO3: 2 to hardness 90, then rising (read, Statistics Canada).
func CCMECopper(hardness float64) (float64, error) {
	if err := units.CheckRange("hardness", hardness, 0, CopperHardnessHigh, "mg/L"); err != nil {
		return 0, err
	}
	if hardness <= 90 {
		return 2, nil
	}
	return 0.2 * math.Exp(0.8545*math.Log(hardness)-1.465), nil
}

// ChloramineNH3InTank returns the total ammonia, in mg/L as NH3, that changing
// a fraction of the tank for treated water with chloramine (mg/L as NH2Cl) adds.
func ChloramineNH3InTank(chloramine units.MgPerL, fraction float64) (units.MgPerL, error) {
	err := firstOutside(check{"chloramine", float64(chloramine), 0, ChlorineHigh, "mg/L"},
		check{"fraction", fraction, 0, 1, ""})
	if err != nil {
		return 0, err
	}
	return chloramine * units.MgPerL(fraction) * molarNH3 / molarChloramine, nil
}

// Continuous returns the concentration after hours of a steady exchange of flow
// litres an hour, well mixed.
func Continuous(now, newWater units.MgPerL, volume, flow units.Litres, hours float64) (units.MgPerL, error) {
	err := firstOutside(concentration("now", now), concentration("new_water", newWater), volumeCheck(volume),
		check{"flow", float64(flow), 0, VolumeHighL, "L/h"}, check{"hours", hours, 0, 1e5, "h"})
	if err != nil {
		return 0, err
	}
	return newWater + (now-newWater)*units.MgPerL(math.Exp(-float64(flow)*hours/float64(volume))), nil
}

// SteadyPeak returns the level just before each daily change that a daily gain
// settles at: gain / fraction, above the new water's own level.
func SteadyPeak(gainPerDay units.MgPerL, fraction float64) (units.MgPerL, error) {
	err := firstOutside(concentration("gain", gainPerDay), check{"fraction", fraction, 0.001, 1, ""})
	if err != nil {
		return 0, err
	}
	return gainPerDay / units.MgPerL(fraction), nil
}

// ChillerPulldown returns the mean watts that bring the water from one
// temperature down to another in hours (0.1 to 1000): the heat of the water,
// the mean gain through the walls and the pumps.
func ChillerPulldown(w Warming, to units.Celsius, hours float64) (float64, error) {
	if err := w.check(); err != nil {
		return 0, err
	}
	err := firstOutside(check{"to", float64(to), TankLow, float64(w.Tank), "Cel"},
		check{"hours", hours, 0.1, 1000, "h"})
	if err != nil {
		return 0, err
	}
	sensible := float64(w.Volume) * WaterJPerKgK * float64(w.Tank-to) / (hours * secondsPerHour)
	gain := w.UA * float64(w.Room-(w.Tank+to)/2)
	return math.Max(0, sensible+gain+w.HeatW), nil
}

// IodophorPH refuses a bath whose pH is outside 6 to 8: soft or acid water
// needs buffering first.
func IodophorPH(ph float64) error {
	return units.CheckRange("ph", ph, IodophorLowPH, IodophorHiPH, "pH")
}

// NitriteKit is a common nitrite colour card (from memory, sure).
func NitriteKit() KitScale { return KitScale{0, 0.25, 0.5, 1, 2, 5} }

// NitrateKit is a common nitrate colour card (from memory, sure).
func NitrateKit() KitScale { return KitScale{0, 5, 10, 20, 40, 80, 160} }

// InchesOfMercury converts a barometer reading: 1 inch is 25.4 mm exactly.
func InchesOfMercury(p float64) units.Kilopascal { return units.FromMMHg(25.4 * p) }

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

// Volume returns the water in the box.
func (b Box) Volume() (units.Litres, error) {
	if err := b.check(); err != nil {
		return 0, err
	}
	return units.Litres(b.Length * b.Width * b.Depth / cubicMMPerLitre), nil
}

// UAFromHeat returns UA in W/K of a tank that has settled above the room's
// temperature by a known heat, such as a pump's: heat / (tank - room). The
// difference must be at least 0.2 C to mean anything.
func UAFromHeat(heatW float64, tank, room units.Celsius) (float64, error) {
	err := firstOutside(check{"heat", heatW, 0.1, HeatHighW, "W"}, tankCheck("tank_temperature", tank), roomCheck(room),
		check{"temperature_difference", float64(tank - room), 0.2, 50, "K"})
	if err != nil {
		return 0, err
	}
	return heatW / float64(tank-room), nil
}
