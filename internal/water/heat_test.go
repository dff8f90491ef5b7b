package water_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"reddside/internal/units"
	"reddside/internal/water"
)

// A 189 L tank, 120 x 35 cm and 45 cm deep, from 10 C in a 22 C room; table
// worked outside this program from Newton's law and the wall resistances.
func TestWarmingTable(t *testing.T) {
	box := water.Box{Length: 1200, Width: 350, Depth: 450}
	for _, c := range []struct {
		name                     string
		foam                     units.Millimetres
		ua, tau, at4, at12, to15 float64
	}{
		{"bare", 0, 15.6, 14.0, 12.97, 16.89, 7.6},
		{"25 mm foam", 25, 2.7, 81.9, 10.57, 11.64, 44},
	} {
		ua := must(box.UA(water.Wall{Glass: 10, Foam: c.foam}))(t)
		// The table's U values are rounded to 7.0 and 1.2.
		if math.Abs(ua-c.ua) > 0.1 {
			t.Errorf("%s: UA %.3f, want %v", c.name, ua, c.ua)
		}
		w := water.Warming{Volume: must(box.Volume())(t), UA: c.ua, Tank: 10, Room: 22}
		near(t, c.name+" time constant", must(w.TimeConstant())(t), c.tau, 0.01*c.tau)
		near(t, c.name+" after 4 h", float64(must(w.After(4))(t)), c.at4, 0.02)
		near(t, c.name+" after 12 h", float64(must(w.After(12))(t)), c.at12, 0.02)
		near(t, c.name+" to 15 C", must(w.HoursToLimit(15))(t).Or(-1), c.to15, 0.01*c.to15)
	}
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %v, want %v within %v", what, got, want, tol)
	}
}

func TestHoursToLimitNeverAndAlready(t *testing.T) {
	for _, c := range []struct {
		name              string
		tank, room, limit units.Celsius
		heat              float64
		never             bool
		want              float64
	}{
		{"room below the limit", 10, 12, 15, 0, true, 0},
		{"room exactly at the limit", 10, 15, 15, 0, true, 0},
		{"pump lifts it over", 10, 14, 15, 30, false, -1},
		{"already over a ceiling", 16, 22, 15, 0, false, 0},
		{"at the limit", 15, 22, 15, 0, false, 0},
		{"cooling to a floor", 10, 2, 5, 0, false, -1},
		{"cooling, floor below the room", 10, 6, 5, 0, true, 0},
		{"cooling away from a ceiling", 10, 6, 12, 0, true, 0},
		{"no change, ceiling", 10, 10, 12, 0, true, 0},
	} {
		w := water.Warming{Volume: 189, UA: 15.6, Tank: c.tank, Room: c.room, HeatW: c.heat}
		hours := must(w.HoursToLimit(c.limit))(t)
		switch {
		case hours.OK == c.never:
			t.Errorf("%s: %+v", c.name, hours)
		case c.want >= 0:
			if !c.never && hours.V != c.want {
				t.Errorf("%s: %v h", c.name, hours.V)
			}
		default:
			near(t, c.name, float64(must(w.After(hours.V))(t)), float64(c.limit), 1e-9)
		}
	}
}

// The closed form against a step-by-step balance of heat.
func TestAfterAgainstStepwiseHeat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := water.Warming{
			Volume: units.Litres(rapid.Float64Range(20, 500).Draw(t, "v")), UA: rapid.Float64Range(1, 30).Draw(t, "ua"),
			Tank:  units.Celsius(rapid.Float64Range(2, 18).Draw(t, "tank")),
			Room:  units.Celsius(rapid.Float64Range(5, 35).Draw(t, "room")),
			HeatW: rapid.Float64Range(0, 40).Draw(t, "heat"),
		}
		const steps = 20000
		temp, dt := float64(w.Tank), 8*3600.0/steps
		for range steps {
			temp += dt * (w.UA*(float64(w.Room)-temp) + w.HeatW) / (float64(w.Volume) * 4186)
		}
		got, err := w.After(8)
		if err != nil || math.Abs(float64(got)-temp) > 0.01 {
			t.Fatalf("%v (%v), step by step %v", got, err, temp)
		}
	})
}

// Bare tank at 9 C in a 24 C room with 20 W of pumps: 254 W (worked outside).
func TestChiller(t *testing.T) {
	near(t, "hold", must(water.ChillerHold(15.6, 9, 24, 20))(t), 254, 0.5)
	if got := must(water.ChillerHold(15.6, 9, 5, 0))(t); got != 0 {
		t.Errorf("a cold room needs %v W", got)
	}
	near(t, "BTU/h per ton", water.WattsPerTon*water.BTUPerHourPerW, 12000, 5)
	w := water.Warming{Volume: 189, UA: 15.6, Tank: 10, Room: 22}
	_, err := water.ChillerPulldown(w, 11, 24)
	wantRange(t, err, "to")
	_, err = water.ChillerPulldown(w, 8, 0)
	wantRange(t, err, "hours")
}

func TestHeatRefusals(t *testing.T) {
	good := water.Warming{Volume: 189, UA: 15.6, Tank: 10, Room: 22}
	nan := math.NaN()
	for quantity, change := range map[string]func(*water.Warming){
		"volume":           func(w *water.Warming) { w.Volume = 0 },
		"ua":               func(w *water.Warming) { w.UA = 0 },
		"tank_temperature": func(w *water.Warming) { w.Tank = units.Celsius(nan) },
		"room_temperature": func(w *water.Warming) { w.Room = 61 },
		"heat":             func(w *water.Warming) { w.HeatW = -1 },
	} {
		w := good
		change(&w)
		_, err := w.TimeConstant()
		wantRange(t, err, quantity)
		_, err = w.HoursToLimit(15)
		wantRange(t, err, quantity)
		_, err = w.After(1)
		wantRange(t, err, quantity)
	}
	_, err := good.HoursToLimit(units.Celsius(math.Inf(1)))
	wantRange(t, err, "limit")
	_, err = good.After(-1)
	wantRange(t, err, "hours")
	frozen := water.Warming{Volume: 189, UA: 15.6, Tank: 5, Room: -20}
	_, err = frozen.After(100)
	wantRange(t, err, "temperature_after")
	_, err = water.SeriesU()
	wantRange(t, err, "resistance")
	_, err = water.UAFromHeat(20, 21.5, 21.5)
	wantRange(t, err, "temperature_difference")
	_, err = water.Wall{Glass: 0.5}.U()
	wantRange(t, err, "glass")
	_, err = water.Box{Length: 1200, Width: 350}.Area()
	wantRange(t, err, "depth")
}

// record simulates a logger in a tank of known UA: Newton's law step by step
// with a drifting room and, if rng is not nil, noise and a 0.01 C display.
func record(ua, volume, heat, start, hours float64, n int, noise float64, rng *rand.Rand) []water.WarmingSample {
	room := func(h float64) float64 { return 21 + 0.1*h }
	var out []water.WarmingSample
	temp, last := start, 0.0
	for i := range n {
		at := hours * float64(i) / float64(n-1)
		const dt = 0.002
		for h := last; h < at-dt/2; h += dt {
			temp += dt * 3600 * (ua*(room(h)-temp) + heat) / (volume * 4186)
		}
		last = at
		shown := temp
		if rng != nil {
			shown = math.Round(100*(temp+noise*rng.NormFloat64())) / 100
		}
		out = append(out, water.WarmingSample{Hours: at, Tank: units.Celsius(shown), Room: units.Celsius(room(at))})
	}
	return out
}

// Without noise the fit gives the simulated UA back; its interval is narrow.
func TestFitUARecoversAKnownUA(t *testing.T) {
	for _, ua := range []float64{1.2, 2.7, 8, 15.6} {
		got, err := water.FitUA(189, 10, record(ua, 189, 10, 9, 8, 33, 0, nil))
		if err != nil || math.Abs(got.UA/ua-1) > 0.002 || got.Low > got.UA || got.High < got.UA {
			t.Errorf("UA %v: %+v %v", ua, got, err)
		}
	}
	// The two-reading formula of a constant room, UA = (m cp/t) ln((Ta-T0)/(Ta-T1)).
	var flat []water.WarmingSample
	for i := range 9 {
		h := float64(i)
		flat = append(flat, water.WarmingSample{Hours: h, Room: 22, Tank: units.Celsius(22 - 12*math.Exp(-h/14.0))})
	}
	want := 189 * 4186 / (8 * 3600.0) * math.Log((22-10)/(22-float64(flat[8].Tank)))
	got, err := water.FitUA(189, 0, flat)
	if err != nil || math.Abs(got.UA-want) > 1e-4*want || math.Abs(float64(got.Start)-10) > 1e-6 {
		t.Errorf("%+v %v, want UA %v", got, err, want)
	}
}

// 1,000 noisy records of tanks of known UA: the 95 % interval must hold the
// true one about 950 times (binomial sd 6.9; 930 to 970 is almost 3 of them).
func TestFitUAIntervalCoverage(t *testing.T) {
	rng := rand.New(rand.NewPCG(20, 26))
	const runs = 1000
	held, refused, narrow := 0, 0, 0.0
	for i := range runs {
		ua := []float64{15.6, 2.7, 6, 1.5}[i%4]
		n := []int{12, 24, 48}[i%3]
		fit, err := water.FitUA(189, 0, record(ua, 189, 0, 9, 6, n, 0.1, rng))
		if err != nil {
			refused++
			continue
		}
		if fit.Low <= ua && ua <= fit.High {
			held++
		}
		narrow += (fit.High - fit.Low) / fit.UA / runs
	}
	t.Logf("%d of %d intervals hold the true UA, mean width %.1f %%, %d refused", held, runs, 100*narrow, refused)
	if refused > 0 {
		t.Errorf("%d records refused", refused)
	}
	if held < 930 || held > 970 {
		t.Errorf("%d of %d intervals hold the true UA, want about 950", held, runs)
	}
}

func TestFitUARefusesPoorRecords(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	var still []water.WarmingSample
	for i := range 20 {
		still = append(still, water.WarmingSample{Hours: float64(i) / 10,
			Tank: units.Celsius(10 + 0.1*rng.NormFloat64()), Room: 10})
	}
	if fit, err := water.FitUA(189, 0, still); !errors.Is(err, water.ErrFlatRecord) {
		t.Errorf("a record that does not warm: %+v %v", fit, err)
	}
	good := record(15.6, 189, 0, 9, 6, 10, 0, nil)
	if _, err := water.FitUA(189, 0, good[:4]); !errors.Is(err, water.ErrTooFewReadings) {
		t.Error(err)
	}
	good[3].Hours = good[2].Hours
	if _, err := water.FitUA(189, 0, good); !errors.Is(err, water.ErrReadingOrder) {
		t.Error(err)
	}
	good[3].Tank = units.Celsius(math.NaN())
	_, err := water.FitUA(189, 0, good)
	wantRange(t, err, "tank_temperature")
	_, err = water.FitUA(0, 0, good)
	wantRange(t, err, "volume")
}
