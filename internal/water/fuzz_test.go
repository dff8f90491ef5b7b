package water_test

import (
	"errors"
	"math"
	"testing"

	"reddside/internal/units"
	"reddside/internal/water"
)

// FuzzCalculators feeds any four numbers to every calculator. Each must answer
// with a finite number or an error, and a RangeError must name a value that is
// truly outside the range it gives.
func FuzzCalculators(f *testing.F) {
	f.Add(10.0, 101.325, 7.4, 0.5)
	f.Add(math.NaN(), math.Inf(1), math.Inf(-1), 0.0)
	f.Add(0.0, 0.0, 0.0, 0.0)
	f.Add(-1.0, 1e308, -1e308, 5e-324)
	f.Add(189.0, 15.6, 10.0, 22.0)
	f.Add(40.0, 65.0, 14.0, 5000.0)
	f.Fuzz(func(t *testing.T, a, b, c, d float64) {
		ok := func(name string, v float64, err error) {
			t.Helper()
			var re water.RangeError
			switch {
			case err == nil && (math.IsNaN(v) || math.IsInf(v, 0)):
				t.Errorf("%s(%v, %v, %v, %v) = %v", name, a, b, c, d, v)
			case err != nil && v != 0:
				t.Errorf("%s(%v, %v, %v, %v) answers %v beside %v", name, a, b, c, d, v, err)
			case errors.As(err, &re) && re.Value >= re.Low && re.Value <= re.High:
				t.Errorf("%s(%v, %v, %v, %v): refused inside its range: %v", name, a, b, c, d, err)
			}
		}
		for _, calc := range calculators {
			v, err := calc.run(a, b, c, d)
			ok(calc.name, v, err)
			// Random numbers are mostly out of every range: folded into an
			// everyday span they reach the arithmetic too.
			v, err = calc.run(fold(a), fold(b), fold(c), fold(d))
			ok(calc.name+" folded", v, err)
		}
	})
}

// fold maps a finite number into -50 to 250 and keeps what is no number.
func fold(v float64) float64 { return math.Abs(math.Mod(v, 300)) - 50 }

// whole turns a float into a count without undefined conversions.
func whole(v float64) int {
	if !(v > -1e9 && v < 1e9) {
		return -1
	}
	return int(v)
}

var calculators = []struct {
	name string
	run  func(a, b, c, d float64) (float64, error)
}{
	{"saturation", func(a, b, c, _ float64) (float64, error) {
		return num(water.SaturationInSalt(units.Celsius(a), units.Kilopascal(b), c))
	}},
	{"percent", func(a, b, c, _ float64) (float64, error) {
		return water.PercentSaturation(units.MgPerL(c), units.Celsius(a), units.Kilopascal(b))
	}},
	{"station pressure", func(a, b, _, _ float64) (float64, error) {
		return num(water.StationPressure(units.Kilopascal(b), units.Metres(a)))
	}},
	{"ammonia", func(a, _, c, d float64) (float64, error) {
		r, err := water.UnionisedAmmonia(units.MgPerL(d), units.Celsius(a), c)
		return float64(r.NH3), err
	}},
	{"max TAN", func(a, _, c, d float64) (float64, error) {
		return num(water.MaxTAN(units.MgPerL(d), units.Celsius(a), c))
	}},
	{"kit", func(a, b, _, _ float64) (float64, error) {
		r, err := water.NitrateKit().Around(units.MgPerL(a))
		return float64(r.Low + r.High), err
	}},
	{"kit ammonia", func(a, b, c, d float64) (float64, error) {
		_, high, err := water.KitAmmonia(water.KitReading{Low: units.MgPerL(b), High: units.MgPerL(d)},
			units.Celsius(a), c, 0.4)
		return float64(high.NH3), err
	}},
	{"EPA acute", func(a, _, c, _ float64) (float64, error) { return num(water.EPAAcuteTAN(units.Celsius(a), c)) }},
	{"EPA chronic", func(a, _, c, _ float64) (float64, error) { return num(water.EPAChronicTAN(units.Celsius(a), c)) }},
	{"copper", func(a, _, _, _ float64) (float64, error) { return water.CCMECopper(a) }},
	{"change fraction", func(a, b, c, _ float64) (float64, error) {
		return water.ChangeFraction(units.MgPerL(a), units.MgPerL(b), units.MgPerL(c))
	}},
	{"after changes", func(a, b, c, d float64) (float64, error) {
		return num(water.AfterChanges(units.MgPerL(a), units.MgPerL(b), c, whole(d)))
	}},
	{"continuous", func(a, b, c, d float64) (float64, error) {
		return num(water.Continuous(units.MgPerL(a), 0, units.Litres(b), units.Litres(c), d))
	}},
	{"steady peak", func(a, b, _, _ float64) (float64, error) { return num(water.SteadyPeak(units.MgPerL(a), b)) }},
	{"mix", func(a, b, c, d float64) (float64, error) {
		return num(water.Mix(units.Litres(a), units.Celsius(b), units.Litres(c), units.Celsius(d)))
	}},
	{"change effect", func(a, b, c, d float64) (float64, error) {
		e, err := water.EffectOfChange(water.Water{T: units.Celsius(a), PH: c, TAN: units.MgPerL(d)},
			water.Water{T: units.Celsius(b), PH: 7}, 0.3)
		return float64(e.T) + float64(e.Ammonia.NH3), err
	}},
	{"dechlorination", func(a, b, _, _ float64) (float64, error) {
		dose, err := water.Dechlorination(units.Litres(a), units.MgPerL(b), true)
		return float64(dose.Anhydrous + dose.Pentahydrate), err
	}},
	{"iodophor", func(a, b, c, _ float64) (float64, error) {
		return water.IodophorStock(units.MgPerL(a), units.Litres(b), c)
	}},
	{"egg diameter", func(a, b, _, _ float64) (float64, error) {
		return num(water.EggDiameter(units.Millimetres(a), whole(b)))
	}},
	{"eggs per litre", func(a, _, _, _ float64) (float64, error) { return water.EggsPerLitre(units.Millimetres(a)) }},
	{"displacement", func(a, b, _, _ float64) (float64, error) {
		return water.EggsByDisplacement(a, units.Millimetres(b))
	}},
	{"count by weight", func(a, b, c, _ float64) (float64, error) {
		return water.CountByWeight(units.Grams(a), whole(b), units.Grams(c))
	}},
	{"filter area", func(a, b, _, _ float64) (float64, error) {
		return water.FilterArea(units.Grams(a), units.Celsius(b))
	}},
	{"TAN from feed", func(a, b, _, _ float64) (float64, error) { return num(water.TANFromFeed(units.Grams(a), b)) }},
	{"excretion", func(a, b, _, _ float64) (float64, error) { return water.Excretion(units.Grams(a), b) }},
	{"bicarbonate", func(a, b, _, _ float64) (float64, error) {
		return num(water.Bicarbonate(units.Litres(a), units.MgPerL(b)))
	}},
	{"weekend", func(a, b, c, d float64) (float64, error) {
		w := water.Weekend{TAN: units.MgPerL(a), Production: units.Grams(b), Volume: units.Litres(d), T: 10, PH: c,
			LimitNH3: 0.019}
		e, err := w.After(3)
		return float64(e.TAN+e.Ammonia.NH3) + e.DaysToLimit.Or(0), err
	}},
	{"time constant", func(a, b, c, d float64) (float64, error) { return warming(a, b, c, d).TimeConstant() }},
	{"after", func(a, b, c, d float64) (float64, error) { return num(warming(a, b, c, d).After(5)) }},
	{"hours to limit", func(a, b, c, d float64) (float64, error) {
		h, err := warming(a, b, c, d).HoursToLimit(15)
		return h.Or(0), err
	}},
	{"chiller pull-down", func(a, b, c, d float64) (float64, error) {
		return water.ChillerPulldown(warming(a, b, c, d), 4, 12)
	}},
	{"chiller hold", func(a, b, c, d float64) (float64, error) {
		return water.ChillerHold(a, units.Celsius(b), units.Celsius(c), d)
	}},
	{"UA of box", func(a, b, c, d float64) (float64, error) {
		return water.Box{Length: units.Millimetres(a), Width: units.Millimetres(b),
			Depth: units.Millimetres(c)}.UA(water.Wall{Glass: 6, Foam: units.Millimetres(d)})
	}},
	{"series U", func(a, b, c, d float64) (float64, error) { return water.SeriesU(a, b, c, d) }},
	{"UA from heat", func(a, b, c, _ float64) (float64, error) {
		return water.UAFromHeat(a, units.Celsius(b), units.Celsius(c))
	}},
	{"fit UA", func(a, b, c, d float64) (float64, error) {
		s := []water.WarmingSample{{Hours: 0, Tank: units.Celsius(a), Room: units.Celsius(d)},
			{Hours: 1, Tank: units.Celsius(b), Room: 22},
			{Hours: 2, Tank: units.Celsius(c), Room: 22}, {Hours: 3, Tank: 12, Room: 22},
			{Hours: 4, Tank: 13, Room: 22}}
		fit, err := water.FitUA(189, 0, s)
		return fit.UA + fit.Low + fit.High + float64(fit.Start), err
	}},
	{"ice to lower", func(a, b, c, d float64) (float64, error) {
		return water.IceToLower(units.Litres(a), units.Celsius(b), units.Celsius(c), units.Celsius(d))
	}},
	{"ice to hold", func(a, b, c, d float64) (float64, error) {
		return water.IceToHold(a, units.Celsius(b), units.Celsius(c), d)
	}},
	{"egg oxygen", func(a, _, _, _ float64) (float64, error) { return water.EggOxygenRate(units.Celsius(a)) }},
	{"oxygen reserve", func(a, b, c, d float64) (float64, error) {
		return water.OxygenReserve(units.Litres(a), units.MgPerL(b), units.MgPerL(c), d)
	}},
	{"fry oxygen", func(a, b, c, _ float64) (float64, error) {
		return water.FryOxygenUse(whole(a), units.Grams(b), c)
	}},
	{"Liao", func(a, b, _, _ float64) (float64, error) {
		return water.LiaoRate(water.Trout, units.Celsius(a), units.Grams(b))
	}},
	{"load", func(a, b, c, _ float64) (float64, error) {
		return water.Load(whole(a), units.Grams(b), units.Litres(c))
	}},
	{"load at temperature", func(a, b, c, _ float64) (float64, error) {
		return water.LoadAtTemperature(a, units.Celsius(b), units.Celsius(c))
	}},
	{"rate at temperature", func(a, b, c, _ float64) (float64, error) {
		return water.RateAtTemperature(a, units.Celsius(b), units.Celsius(c))
	}},
	{"bag oxygen", func(a, b, c, _ float64) (float64, error) {
		return num(water.BagOxygen(units.Litres(a), units.Celsius(b), c))
	}},
	{"density index", func(a, b, c, _ float64) (float64, error) {
		return water.DensityIndex(units.Grams(a), units.Millimetres(b), units.Litres(c))
	}},
	{"tempering", func(a, b, c, d float64) (float64, error) {
		steps, err := water.Tempering(units.Celsius(a), units.Celsius(b), c, units.CelsiusDelta(d))
		if len(steps) == 0 {
			return 0, err
		}
		return float64(steps[len(steps)-1]), err
	}},
}

func warming(a, b, c, d float64) water.Warming {
	return water.Warming{Volume: units.Litres(a), UA: b, Tank: units.Celsius(c), Room: units.Celsius(d), HeatW: 10}
}
