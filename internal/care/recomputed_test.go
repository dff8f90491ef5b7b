package care_test

import (
	"math"
	"testing"

	"reddside/internal/care"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/water"
)

func close2(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if math.Abs(got-want) > within || math.IsNaN(got) {
		t.Errorf("%s: %v, by hand %v", what, got, want)
	}
}

// warmed steps a tank through time, a second after the other, until it passes a
// limit; no closed form.
func warmed(litres, ua, tank, room, watts, limit float64) (hours float64) {
	const dt = 1.0
	for s := 0.0; s < 1e7; s += dt {
		if tank >= limit {
			return s / 3600
		}
		tank += dt * (ua*(room-tank) + watts) / (litres * 4186)
	}
	return math.Inf(1)
}

// Failures, changes and trips worked out in another way than the program does.
func TestCasesRecomputed(t *testing.T) {
	// 1 to 3: a chiller that failed, stepped second by second.
	for _, c := range []struct{ litres, ua, tank, room, watts, limit float64 }{{189, 15.6, 10, 22, 0, 12},
		{120, 4, 7, 24, 15, 10}, {60, 6, 8, 12, 30, 12}} {
		h, err := water.Warming{Volume: units.Litres(c.litres), UA: c.ua, Tank: units.Celsius(c.tank),
			Room: units.Celsius(c.room), HeatW: c.watts}.HoursToLimit(units.Celsius(c.limit))
		if err != nil || !h.OK {
			t.Fatal(h, err)
		}
		close2(t, "hours to the limit", h.V, warmed(c.litres, c.ua, c.tank, c.room, c.watts, c.limit), 0.01)
	}
	// 4: ice of -18 C that takes 189 L from 16 to 11.5 C, melted in grams.
	kg, err := water.IceToLower(189, 16, 11.5, -18)
	if err != nil {
		t.Fatal(err)
	}
	temp, used := 16.0, 0.0
	for ; temp > 11.5; used += 0.001 { // the melt stays in and comes to the tank's temperature
		joules := 0.001 * (2100*18 + 334000 + 4186*temp)
		temp -= joules / ((189 + used + 0.001) * 4186)
	}
	close2(t, "ice", kg, used, 0.05)
	// 5: the oxygen of 200 eggs in a basket, minute by minute, stands in TestBasketWithoutFlow.
	// 6: 1.0 mg/L as N, 70 % replaced by water with 2 mg/L of chloramine, pH 8.2, 10 C: the
	// nitrogen that stays behind, and the share of NH3 by solving the balance of charges.
	n, err := water.ChloramineN(2)
	if err != nil {
		t.Fatal(err)
	}
	close2(t, "nitrogen of chloramine", float64(n), 2/70.906*14.0067, 1e-4)
	e, err := water.EffectOfChange(water.Water{T: 10, PH: 8.2, TAN: 1}, water.Water{T: 10, PH: 8.2, TAN: n}, 0.7)
	if err != nil {
		t.Fatal(err)
	}
	ka, h := math.Pow(10, -(0.09018+2729.92/283.15)), math.Pow(10, -8.2)
	total := 0.3*1 + 0.7*2/70.906*14.0067
	close2(t, "NH3 after the change", float64(e.Ammonia.NH3), total*ka/(ka+h)*17.0305/14.0067, 1e-4)
	close2(t, "NH3 after the change", float64(e.Ammonia.NH3), 0.0200, 5e-5)
	if p, err := water.PlanChange(1, n, 0.3); err != nil || p.Reaches {
		t.Errorf("0.3 mg/L called possible: %+v %v", p, err)
	}
	// 7: 24 % of a tank by pouring cup by cup: the same temperature as the mix.
	tank, volume := 10.0, 200.0
	out := 0.24 * volume
	tank = (tank*(volume-out) + 14*out) / volume
	mix, err := water.Mix(units.Litres(volume-out), 10, units.Litres(out), 14)
	if err != nil {
		t.Fatal(err)
	}
	close2(t, "mixed", float64(mix), tank, 1e-9)
	// 8: bucket of 14 C into a stream of 8 C, a fifth at a time in litres.
	steps, err := water.Tempering(14, 8, 0.2, 1)
	if err != nil {
		t.Fatal(err)
	}
	bucket, count := 14.0, 0
	for bucket-8 > 1 {
		bucket = (bucket*16 + 8*4) / 20
		count++
	}
	close2(t, "tempering steps", float64(len(steps)), float64(count), 0)
	// 9: the water of the trip: 186 fish of 0.35 g at 370 mg/kg/h in 20 L, minute by minute.
	use, err := water.FryOxygenUse(186, 0.35, 370)
	if err != nil {
		t.Fatal(err)
	}
	lasts, err := water.OxygenReserve(20, 11.29, 6, use)
	if err != nil {
		t.Fatal(err)
	}
	mg, minutes := 20*11.29, 0
	for ; mg > 20*6; minutes++ {
		mg -= 186 * 0.35 / 1000 * 370 / 60
	}
	close2(t, "oxygen of the trip", lasts, float64(minutes)/60, 0.02)
	// 10: cooling 16 to 8 C below a limit of 12: hours above the limit when it falls a
	// degree an hour, minute by minute.
	p := care.PlanCooling(care.Cooling{Now: 16, Setpoint: 8, ActHigh: some(12), Stage: logbook.EyedEgg})
	above, at := 0, 16.0
	for ; at > float64(p.Today); at -= 1.0 / 60 {
		if at > 12 {
			above++
		}
	}
	close2(t, "hours above the limit", float64(above)/60, 4, 0.1)
	close2(t, "hours of the first day", p.Hours, 16-float64(p.Today), 1e-9)
}
