package water_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"reddside/internal/units"
	"reddside/internal/water"
)

// 189 kg from 14 to 10 C: 8.4 kg of ice at 0 C; holding at 10 C with 12 C to
// the room: bare tank 1.8 kg/h, foam 0.31 (worked outside this program).
func TestIce(t *testing.T) {
	near(t, "ice at 0 C", must(water.IceToLower(189, 14, 10, 0))(t), 8.4, 0.05)
	near(t, "hold bare", must(water.IceToHold(15.6, 10, 22, 0))(t), 1.8, 0.01)
	near(t, "hold foam", must(water.IceToHold(2.7, 10, 22, 0))(t), 0.31, 0.005)
	if got := must(water.IceToLower(189, 10, 10, 0))(t); got != 0 {
		t.Errorf("no drop needs %v kg", got)
	}
	if got := must(water.IceToHold(15.6, 10, 5, 0))(t); got != 0 {
		t.Errorf("a cold room needs %v kg/h", got)
	}
	_, err := water.IceToLower(189, 10, 12, 0)
	wantRange(t, err, "to")
	_, err = water.IceToLower(189, 14, 10, 1)
	wantRange(t, err, "ice_temperature")
	_, err = water.IceToLower(189, units.Celsius(math.NaN()), 10, 0)
	wantRange(t, err, "from")
	if len(water.WarmingCautions()) == 0 {
		t.Error("no cautions for a chiller failure")
	}
}

// The melted ice and the water it cooled end at the asked temperature: heat
// given up equals heat taken (enthalpy counted from water at 0 C).
func TestIceBalancesHeat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(5, 500).Draw(t, "v")
		to := rapid.Float64Range(0, 15).Draw(t, "to")
		from := to + rapid.Float64Range(0, 10).Draw(t, "drop")
		ice := rapid.Float64Range(-30, 0).Draw(t, "ice")
		kg, err := water.IceToLower(units.Litres(v), units.Celsius(from), units.Celsius(to), units.Celsius(ice))
		if err != nil {
			t.Fatal(err)
		}
		before := v*4186*from + kg*(-334000+2100*ice)
		after := (v + kg) * 4186 * to
		if math.Abs(before-after) > 1e-6*math.Max(1, math.Abs(before)) {
			t.Fatalf("heat before %v, after %v", before, after)
		}
	})
}

// Read rates at 5 and 10 C; 200 eggs in 189 L from 10.5 to 6 mg/L last 158 h at
// 10 C, 200 fry of 0.5 g 50 h at the night rate (worked outside this program).
func TestOxygenReserve(t *testing.T) {
	near(t, "eggs at 5 C", must(water.EggOxygenRate(5))(t), 0.0141, 1e-12)
	rate := must(water.EggOxygenRate(10))(t)
	near(t, "eggs at 10 C", rate, 0.0270, 1e-12)
	near(t, "eggs last", must(water.OxygenReserve(189, 10.5, 6, must(water.EggOxygenUse(200, rate))(t)))(t), 158, 1)
	fry := must(water.FryOxygenUse(200, 0.5, water.FryOxygenNight))(t)
	near(t, "fry last", must(water.OxygenReserve(189, 10.5, 6, fry))(t), 50, 0.5)
	if got := must(water.OxygenReserve(189, 5, 6, fry))(t); got != 0 {
		t.Errorf("below the minimum %v h are left", got)
	}
	_, err := water.EggOxygenRate(4.9)
	wantRange(t, err, "temperature")
	_, err = water.OxygenReserve(189, 10, 6, 0)
	wantRange(t, err, "oxygen_use")
	_, err = water.OxygenReserve(189, units.MgPerL(math.NaN()), 6, 1)
	wantRange(t, err, "oxygen")
	_, err = water.FryOxygenUse(-1, 0.5, 170)
	wantRange(t, err, "fish")
	_, err = water.EggOxygenUse(10, 2)
	wantRange(t, err, "egg_rate")
}

// Liao's trout pair jumps 9 % at 50 F (worked outside this program).
func TestLiaoJump(t *testing.T) {
	cold := must(water.LiaoRate(water.Trout, 10, 1))(t)
	warm := must(water.LiaoRate(water.Trout, 10.001, 1))(t)
	near(t, "jump", math.Abs(warm/cold-1), 0.09, 0.01)
	_, err := water.LiaoRate(water.Group(2), 10, 1)
	wantRange(t, err, "group")
	_, err = water.LiaoRate(water.Salmon, 22, 1)
	wantRange(t, err, "temperature")
}

// A 38 L cooler with 1 W/K warms from 8.0 to 8.6 C in 1.5 h at 25 C (worked
// outside); 1000 lb at 52 F are 722 at 57 F (Piper p. 356, read).
func TestTransport(t *testing.T) {
	cooler := water.Warming{Volume: 38, UA: 1, Tank: 8, Room: 25}
	near(t, "cooler", float64(must(cooler.After(1.5))(t)), 8.6, 0.05)
	at, to := units.Fahrenheit(52).Celsius(), units.Fahrenheit(57).Celsius()
	near(t, "load", must(water.LoadAtTemperature(1000, at, to))(t), 722, 1)
	_, err := water.LoadAtTemperature(1000, 5, 20)
	wantRange(t, err, "temperature_difference")
	_, err = water.RateAtTemperature(math.NaN(), 5, 10)
	wantRange(t, err, "rate")
	_, err = water.BagOxygen(10, 10, 95)
	wantRange(t, err, "oxygen_share")
	_, err = water.Load(10, 0.5, 0)
	wantRange(t, err, "volume")
	_, err = water.DensityIndex(100, 0, 100)
	wantRange(t, err, "length")
	// 1.8 kg of 1.2-inch fry in 189 L is 0.5 (worked outside this program).
	near(t, "density index", must(water.DensityIndex(1800, 1.2*25.4, 189))(t), 0.5, 0.01)
}

// A gap of 6 C to within 1 C in 20 % steps takes 9 (worked outside from
// ceil(ln(d/dT0)/ln(1-f))).
func TestTempering(t *testing.T) {
	steps := must(water.Tempering(14, 8, 0.2, 1))(t)
	if len(steps) != 9 || math.Abs(float64(steps[0])-12.8) > 1e-9 {
		t.Errorf("%d steps, %v", len(steps), steps)
	}
	for _, c := range []struct {
		from, to units.Celsius
		f        float64
		within   units.CelsiusDelta
		n        int
	}{{8, 8, 0.2, 1, 0}, {8, 9, 0.2, 1, 0}, {8, 4, 0.5, 1, 2}, {4, 8, 0.5, 1, 2}, {8, 4, 1, 0.01, 1}} {
		steps := must(water.Tempering(c.from, c.to, c.f, c.within))(t)
		if len(steps) != c.n {
			t.Errorf("%+v: %v", c, steps)
		}
	}
	for _, c := range []struct {
		from, to, f, within float64
		quantity            string
	}{{-1, 8, 0.2, 1, "from"}, {8, 41, 0.2, 1, "to"}, {8, 4, 0, 1, "fraction"}, {8, 4, 1.1, 1, "fraction"},
		{8, 4, 0.2, 0, "within"}, {8, 4, 0.2, math.NaN(), "within"}} {
		_, err := water.Tempering(units.Celsius(c.from), units.Celsius(c.to), c.f, units.CelsiusDelta(c.within))
		wantRange(t, err, c.quantity)
	}
}

// The last step, and no earlier one, is within the asked difference, and every
// step goes toward the stream's temperature.
func TestTemperingEndsWithin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := rapid.Float64Range(0, 25).Draw(t, "from")
		to := rapid.Float64Range(0, 25).Draw(t, "to")
		f := rapid.Float64Range(0.05, 0.95).Draw(t, "f")
		within := rapid.Float64Range(0.1, 5).Draw(t, "within")
		steps, err := water.Tempering(units.Celsius(from), units.Celsius(to), f, units.CelsiusDelta(within))
		if err != nil {
			t.Fatal(err)
		}
		gap := math.Abs(from - to)
		for i, s := range steps {
			if gap <= within {
				t.Fatalf("step %d of %d was not needed", i+1, len(steps))
			}
			next := math.Abs(float64(s) - to)
			if math.Abs(next-gap*(1-f)) > 1e-9 {
				t.Fatalf("step %d leaves %v of %v", i+1, next, gap)
			}
			gap = next
		}
		if gap > within+1e-8 {
			t.Fatalf("ends %v away", gap)
		}
	})
}
