package water_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"reddside/internal/units"
	"reddside/internal/water"
)

// Formula rows and a printed university table (read); each row has its source.
func TestAmmoniaFractionAgainstReferenceRows(t *testing.T) {
	rows := referenceRows(t, "ammonia_fraction.csv")
	if len(rows) != 101 {
		t.Fatalf("%d rows, want 101", len(rows))
	}
	for _, r := range rows {
		got := must(water.AmmoniaFraction(units.Celsius(number(t, r["temp_c"])), number(t, r["ph"])))(t)
		want := number(t, r["nh3_fraction"])
		if math.Abs(got-want) > tolerance(t, r["tolerance"], want) {
			t.Errorf("%s %s C pH %s: %.6f, want %s (%s)", r["kind"], r["temp_c"], r["ph"], got, r["nh3_fraction"],
				r["source"])
		}
	}
}

// Conversion factors to four decimals, computed from atomic masses elsewhere.
func TestIonConversions(t *testing.T) {
	for _, c := range []struct {
		name string
		ion  water.Ion
		want float64
	}{{"NH3", water.NH3, 1.2159}, {"NH4", water.NH4, 1.2878}, {"NO2", water.NO2, 3.2845}, {"NO3", water.NO3, 4.4267}} {
		if got := float64(c.ion.FromN(1)); math.Abs(got-c.want) > 0.0002 {
			t.Errorf("%s: %.5f, want %v", c.name, got, c.want)
		}
		if got := float64(c.ion.AsN(c.ion.FromN(2.5))); math.Abs(got-2.5) > 1e-12 {
			t.Errorf("%s: round trip gives %v", c.name, got)
		}
	}
}

// Trap: 0.019 mg/L is as NH3. As nitrogen it is 0.0156, and a reading whose
// NH3-N is 0.017 is over the limit although 0.017 < 0.019.
func TestTrapLimitIsAsNH3NotAsN(t *testing.T) {
	if n := float64(water.NH3.AsN(0.019)); math.Abs(n-0.0156) > 0.0001 {
		t.Errorf("0.019 as NH3 is %.5f as N, want 0.0156 (printed with the limit)", n)
	}
	f := must(water.AmmoniaFraction(10, 8))(t)
	a := must(water.UnionisedAmmonia(units.MgPerL(0.017/f), 10, 8))(t)
	if !(a.NH3N < 0.019 && a.NH3 > 0.019) {
		t.Errorf("NH3-N %.4f, NH3 %.4f: want 0.019 between them", a.NH3N, a.NH3)
	}
	limit := must(water.MaxTAN(0.019, 10, 8))(t)
	if float64(limit) >= 0.017/f {
		t.Errorf("max TAN %.3f lets the reading %.3f pass", limit, 0.017/f)
	}
}

func TestMaxTANGivesBackTheLimit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		temp := units.Celsius(rapid.Float64Range(0, 30).Draw(t, "t"))
		ph := rapid.Float64Range(6, 9.5).Draw(t, "ph")
		tan, err := water.MaxTAN(0.019, temp, ph)
		if err != nil {
			t.Fatal(err)
		}
		a, err := water.UnionisedAmmonia(tan, temp, ph)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(float64(a.NH3)-0.019) > 1e-12 {
			t.Fatalf("NH3 at max TAN = %v", a.NH3)
		}
	})
}

func TestAmmoniaRefusals(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		tan, temp, ph float64
		quantity      string
	}{
		{-0.1, 10, 7, "tan"}, {nan, 10, 7, "tan"}, {math.Inf(1), 10, 7, "tan"},
		{1, -0.1, 7, "temperature"}, {1, 50.1, 7, "temperature"}, {1, nan, 7, "temperature"},
		{1, 10, -1, "ph"}, {1, 10, 14.1, "ph"}, {1, 10, nan, "ph"},
	} {
		_, err := water.UnionisedAmmonia(units.MgPerL(c.tan), units.Celsius(c.temp), c.ph)
		wantRange(t, err, c.quantity)
	}
	_, err := water.MaxTAN(-1, 10, 7)
	wantRange(t, err, "limit")
}
