package water

import (
	_ "embed"
	"math"

	"reddside/internal/units"
)

// Ranges shared by the volume calculators.
const (
	VolumeLowL      = 0.01
	VolumeHighL     = 100000.0
	ConcentrationHi = 1e6 // mg/L: all of the water
)

func volumeCheck(v units.Litres) check {
	return check{"volume", float64(v), VolumeLowL, VolumeHighL, "L"}
}

func concentration(name string, v units.MgPerL) check {
	return check{name, float64(v), 0, ConcentrationHi, "mg/L"}
}

// ChangeFraction returns the share of the tank to replace at once, 0 to 1, to
// bring a concentration down to a target with new water: (now - target) /
// (now - newWater). It is 0 when the tank is at or below the target. New water
// above the target cannot reach it: the RangeError names the range that can.
func ChangeFraction(now, newWater, target units.MgPerL) (float64, error) {
	err := firstOutside(concentration("now", now), concentration("new_water", newWater),
		concentration("target", target))
	switch {
	case err != nil:
		return 0, err
	case now <= target:
		return 0, nil
	case newWater > target:
		return 0, RangeError{Quantity: "new_water", Value: float64(newWater), Low: 0, High: float64(target),
			Unit: "mg/L"}
	}
	return float64((now - target) / (now - newWater)), nil
}

// AfterChanges returns the concentration after n changes of the same fraction,
// well mixed each time: newWater + (now - newWater)(1 - fraction)^n. Five
// changes of 20 % take out 67 %, not all.
func AfterChanges(now, newWater units.MgPerL, fraction float64, n int) (units.MgPerL, error) {
	err := firstOutside(concentration("now", now), concentration("new_water", newWater),
		check{"fraction", fraction, 0, 1, ""}, check{"changes", float64(n), 0, 10000, ""})
	if err != nil {
		return 0, err
	}
	return newWater + (now-newWater)*units.MgPerL(math.Pow(1-fraction, float64(n))), nil
}

// Mix returns the temperature of two mixed volumes, each from 0 to 40 C.
func Mix(v1 units.Litres, t1 units.Celsius, v2 units.Litres, t2 units.Celsius) (units.Celsius, error) {
	err := firstOutside(volumeCheck(v1), volumeCheck(v2),
		check{"temperature", float64(t1), 0, 40, "Cel"}, check{"temperature", float64(t2), 0, 40, "Cel"})
	if err != nil {
		return 0, err
	}
	return (t1*units.Celsius(v1) + t2*units.Celsius(v2)) / units.Celsius(v1+v2), nil
}

// ChangeTemperatureStep is the step in the tank that a change should not make, in
// C: common practice, no source.
const ChangeTemperatureStep = 1.0

// Water is what matters about the tank's or the new water in a change.
type Water struct {
	T   units.Celsius
	PH  float64
	TAN units.MgPerL // as nitrogen
}

// ChangeEffect is what a change does besides diluting.
type ChangeEffect struct {
	T        units.Celsius // temperature of the mix
	TAN      units.MgPerL  // total ammonia of the mix, as nitrogen
	WorstPH  float64       // the higher pH: the mix lies somewhere between
	Ammonia  Ammonia       // un-ionised ammonia if the mix took the higher pH
	Cautions []Caution
}

// EffectOfChange looks at temperature and pH when a fraction (0 to 1) of the
// tank is replaced. The pH of a mix depends on its alkalinity, so the higher of
// the two is used: un-ionised ammonia can rise although total ammonia falls.
func EffectOfChange(tank, fresh Water, fraction float64) (ChangeEffect, error) {
	if err := units.CheckRange("fraction", fraction, 0, 1, ""); err != nil {
		return ChangeEffect{}, err
	}
	before, err := UnionisedAmmonia(tank.TAN, tank.T, tank.PH)
	if err != nil {
		return ChangeEffect{}, err
	}
	if _, err := UnionisedAmmonia(fresh.TAN, fresh.T, fresh.PH); err != nil {
		return ChangeEffect{}, err
	}
	f := fraction
	e := ChangeEffect{
		T:       tank.T*units.Celsius(1-f) + fresh.T*units.Celsius(f),
		TAN:     tank.TAN*units.MgPerL(1-f) + fresh.TAN*units.MgPerL(f),
		WorstPH: tank.PH,
	}
	if f > 0 {
		e.WorstPH = math.Max(tank.PH, fresh.PH)
	}
	if e.Ammonia, err = UnionisedAmmonia(e.TAN, e.T, e.WorstPH); err != nil {
		return ChangeEffect{}, err
	}
	if f > ChangeShare+1e-9 {
		e.Cautions = append(e.Cautions, CautionLargeChange)
	}
	if math.Abs(float64(e.T-tank.T)) > ChangeTemperatureStep {
		e.Cautions = append(e.Cautions, CautionTemperature)
	}
	if e.Ammonia.NH3 > before.NH3 {
		e.Cautions = append(e.Cautions, CautionPHAmmonia)
	}
	return e, nil
}
