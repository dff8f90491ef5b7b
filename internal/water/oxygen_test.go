package water_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"

	"reddside/internal/units"
	"reddside/internal/water"
)

// Every row names its own source: printed tables (read or from memory) and
// values of the published formula.
func TestSaturationAgainstReferenceRows(t *testing.T) {
	rows := referenceRows(t, "oxygen_saturation.csv")
	if len(rows) != 185 {
		t.Fatalf("%d rows, want 185", len(rows))
	}
	for _, r := range rows {
		p := units.FromMMHg(number(t, r["pressure_mmhg"]))
		if r["altitude_m"] != "" {
			fromAltitude := must(water.PressureAtAltitude(units.Metres(number(t, r["altitude_m"]))))(t)
			if math.Abs(fromAltitude.MMHg()-p.MMHg()) > 0.01 {
				t.Errorf("pressure at %s m = %v mmHg, want %v", r["altitude_m"], fromAltitude.MMHg(), p.MMHg())
			}
			p = fromAltitude
		}
		got := float64(must(water.Saturation(units.Celsius(number(t, r["temp_c"])), p))(t))
		want := number(t, r["do_mg_l"])
		if math.Abs(got-want) > tolerance(t, r["tolerance_mg_l"], want) {
			t.Errorf("%s %s C %s mmHg: %.4f, want %s (%s)", r["kind"], r["temp_c"], r["pressure_mmhg"], got,
				r["do_mg_l"], r["source"])
		}
	}
}

// The lake logger computed its own percentage; recomputing it from its oxygen,
// temperature and pressure must agree, reading by reading.
func TestPercentAgainstLakeInstrument(t *testing.T) {
	f, err := os.Open(filepath.Join(root(t), "..", "shared", "reference", "oxygen",
		"lake_hourly_oxygen_pressure_2018_2019.csv"))
	if err != nil {
		if os.Getenv("REDDSIDE_REFERENCE") == "required" {
			t.Fatal(err)
		}
		t.Skip("the folder of real records is not here")
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.FieldsPerRecord = -1
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(all[1][3], "DO Adj Conc") || !strings.Contains(all[1][5], "Abs Pres, psi") {
		t.Fatalf("columns moved: %q", all[1])
	}
	rows := all[2:]
	if len(rows) != 5017 {
		t.Fatalf("%d readings, want 5017", len(rows))
	}
	const kilopascalPerPsi = 6.894757
	var diffs, sizes, withoutPressure []float64
	for _, rec := range rows {
		temp, do := units.Celsius(number(t, rec[2])), units.MgPerL(number(t, rec[3]))
		shown := number(t, rec[4])
		d := must(water.PercentSaturation(do, temp, units.Kilopascal(number(t, rec[5])*kilopascalPerPsi)))(t) - shown
		diffs = append(diffs, d)
		sizes = append(sizes, math.Abs(d))
		withoutPressure = append(withoutPressure,
			must(water.PercentSaturation(do, temp, units.KilopascalPerAtmosphere))(t)-shown)
	}
	sort.Float64s(diffs)
	sort.Float64s(sizes)
	sort.Float64s(withoutPressure)
	at := func(s []float64, q float64) float64 { return s[int(q*float64(len(s)-1))] }
	t.Logf("difference: median size %.4f, 5th %.4f, 95th %.4f points; with pressure ignored the median is %.2f",
		at(sizes, 0.5), at(diffs, 0.05), at(diffs, 0.95), at(withoutPressure, 0.5))
	if m := at(sizes, 0.5); m > 0.05 {
		t.Errorf("median size of the difference %.4f points, want at most 0.05", m)
	}
	if lo, hi := at(diffs, 0.05), at(diffs, 0.95); lo < -0.1 || hi > 0.1 {
		t.Errorf("5th to 95th percentile %.4f to %.4f points, want inside 0.1", lo, hi)
	}
	if m := math.Abs(at(withoutPressure, 0.5)); m < 2 {
		t.Errorf("ignoring pressure changes only %.2f points: the record no longer tests it", m)
	}
}

// Trap: theta's polynomial takes Celsius. Its kelvin form must agree with the
// factor in use (read: theta = 9.672e-3 - 4.942e-5 T + 6.436e-8 T^2).
func TestTrapThetaTakesCelsius(t *testing.T) {
	for c := 0.0; c <= 40; c += 5 {
		k, atm := c+273.15, 0.85
		u := math.Exp(11.8571 - 3840.70/k - 216961/(k*k))
		theta := 9.672e-3 - 4.942e-5*k + 6.436e-8*k*k
		want := (atm - u) * (1 - theta*atm) / ((1 - u) * (1 - theta))
		p := units.Kilopascal(atm * units.KilopascalPerAtmosphere)
		got := float64(must(water.Saturation(units.Celsius(c), p))(t)) /
			float64(must(water.Saturation(units.Celsius(c), units.KilopascalPerAtmosphere))(t))
		if math.Abs(got-want) > 2e-6 {
			t.Errorf("%v C: pressure factor %.7f, want %.7f", c, got, want)
		}
	}
}

// Trap: a weather report's pressure is reduced to sea level. Taken as station
// pressure at 800 m it puts the saturation 9 to 10 % too high.
func TestTrapSeaLevelPressure(t *testing.T) {
	const report = units.Kilopascal(101.6)
	station := must(water.StationPressure(report, 800))(t)
	right := float64(must(water.Saturation(8, station))(t))
	wrong := float64(must(water.Saturation(8, report))(t))
	if r := wrong / right; r < 1.09 || r > 1.11 {
		t.Errorf("ratio %.4f: the altitude was not applied once", r)
	}
	atSea := must(water.StationPressure(report, 0))(t)
	if atSea != report {
		t.Errorf("at 0 m the pressure changed to %v", atSea)
	}
}

// Salinity term, read. At 35 g/kg, 20 C and 1 atm sea water holds 7.38 mg/L
// (UNESCO tables, Benson & Krause 1984; from memory, fairly sure).
func TestSaturationInSalt(t *testing.T) {
	got := float64(must(water.SaturationInSalt(20, units.KilopascalPerAtmosphere, 35))(t))
	if math.Abs(got-7.38) > 0.02 {
		t.Errorf("%.3f mg/L, want 7.38", got)
	}
}

func TestOxygenRefusals(t *testing.T) {
	sat := func(c, p float64) error {
		_, err := water.Saturation(units.Celsius(c), units.Kilopascal(p))
		return err
	}
	nan := math.NaN()
	wantRange(t, sat(-0.1, 101), "temperature")
	wantRange(t, sat(40.1, 101), "temperature")
	wantRange(t, sat(nan, 101), "temperature")
	wantRange(t, sat(10, 64), "pressure")
	wantRange(t, sat(10, math.Inf(1)), "pressure")
	wantRange(t, sat(10, 760), "pressure") // mmHg typed as kPa
	_, err := water.PressureAtAltitude(3001)
	wantRange(t, err, "altitude")
	_, err = water.PressureAtAltitude(units.Metres(nan))
	wantRange(t, err, "altitude")
	_, err = water.StationPressure(760, 100)
	wantRange(t, err, "sea_level_pressure")
	_, err = water.SaturationInSalt(10, 101, 41)
	wantRange(t, err, "salinity")
	for _, v := range []float64{-0.1, 71, nan} {
		_, err = water.PercentSaturation(units.MgPerL(v), 10, 101)
		wantRange(t, err, "oxygen")
	}
	_, err = water.PercentSaturation(10, 50, 101)
	wantRange(t, err, "temperature")
}
