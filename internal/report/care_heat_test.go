package report

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"reddside/internal/biology"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/water"
)

var careStart = time.Date(2026, 2, 10, 8, 0, 0, 0, time.UTC)

// A tank of 189 L, 120 x 35 x 45 cm, bare: 15.6 W/K; with 25 mm of foam: 2.7
// (computed beside the textbook U values 7.0 and 1.17 W/m2K for A = 2.235 m2).
func TestCareHeatOfWalls(t *testing.T) {
	for wall, want := range map[logbook.Wall]float64{logbook.BareGlass: 15.6, logbook.Insulated: 2.7} {
		h, err := HeatOfWalls(189, wall)
		if err != nil || math.Abs(h.UA-want) > 0.1 {
			t.Errorf("%s: UA %.2f (%v), want %.1f", wall, h.UA, err, want)
		}
		if h.Low >= h.UA || h.High <= h.UA {
			t.Errorf("%s: no doubt: %v", wall, h)
		}
	}
	if _, err := HeatOfWalls(0, logbook.BareGlass); err == nil {
		t.Error("a tank without water has an answer")
	}
}

// The same tank from 10 C in a room of 22 C: 14.0 h and 81.9 h time constant,
// 12.97 C and 10.57 C after 4 h, 15 C after 7.6 h and 44 h (closed form).
func TestCareOutageClosedForm(t *testing.T) {
	for _, c := range []struct{ ua, after4, to15 float64 }{{15.6, 12.97, 7.6}, {2.7, 10.57, 44}} {
		o := Outage{Since: careStart, Now: careStart.Add(4 * time.Hour), Tank: 10, Room: 22, Volume: 189,
			Heat: TankHeat{UA: c.ua, Low: c.ua / 2, High: c.ua * 2}}
		now, err := o.Present()
		if err != nil || math.Abs(float64(now)-c.after4) > 0.02 {
			t.Errorf("UA %v: %v after 4 h (%v), want %v", c.ua, now, err, c.after4)
		}
		r, err := o.Ceiling(15)
		if err != nil || math.Abs(r.Hours.V+4-c.to15) > c.to15*0.01 {
			t.Errorf("UA %v: 15 C in %v h from now (%v), want %v from the start", c.ua, r.Hours.V, err, c.to15)
		}
		if !(r.First.V < r.Hours.V && r.Hours.V < r.Last.V) {
			t.Errorf("UA %v: bounds %v %v %v", c.ua, r.First, r.Hours, r.Last)
		}
		if r, _ := o.Ceiling(23); r.Hours.OK {
			t.Error("a tank becomes warmer than its room")
		}
	}
}

func careReadings(from time.Time, step time.Duration, n int, f func(h float64) float64) []logbook.Reading {
	var out []logbook.Reading
	for i := range n {
		at := from.Add(time.Duration(i) * step)
		out = append(out, logbook.Reading{At: at, Temperature: units.Celsius(f(at.Sub(from).Hours())),
			Quality: logbook.Good})
	}
	return out
}

// The stretch is found among days of a running chiller, and the fit on it holds
// the known UA within its own interval.
func TestCareStretchAndFit(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	const ua, volume = 12.0, 180.0
	tau := volume * water.WaterJPerKgK / ua / 3600
	inside := 0
	const runs = 200
	for range runs {
		noise := func() float64 { return 0.03 * rnd.NormFloat64() }
		var rs []logbook.Reading
		rs = append(rs, careReadings(careStart, 15*time.Minute, 96,
			func(h float64) float64 { return 7 + 0.2*math.Sin(h*4) + noise() })...)
		warm := careStart.Add(24 * time.Hour)
		rs = append(rs, careReadings(warm, 15*time.Minute, 33,
			func(h float64) float64 { return 21 - 14*math.Exp(-h/tau) + noise() })...)
		rs = append(rs, careReadings(warm.Add(8*time.Hour+15*time.Minute), 15*time.Minute, 40,
			func(h float64) float64 { return 13 - 0.5*h + noise() })...)
		s, ok := longestRise(rs)
		if !ok || s.From.Before(warm.Add(-time.Hour)) || s.Hours() < 7 || s.Hours() > 9 {
			t.Fatalf("stretch %v to %v, %v", s.From, s.To, ok)
		}
		h, err := HeatOfRecord(volume, 0, s, 21, TankHeat{Low: 6, High: 24})
		if err != nil {
			t.Fatal(err)
		}
		if h.Fit.Low <= ua && ua <= h.Fit.High {
			inside++
		}
		if h.Low > h.Fit.Low || h.High < h.Fit.High {
			t.Error("the room's doubt is left out")
		}
	}
	// 95 % of runs, less three standard errors of 200 runs (1.5 % each). Cutting
	// the start by its noise costs a little.
	if share := float64(inside) / runs; share < 0.90 {
		t.Errorf("the true UA lies in the interval in %.1f %% of runs", 100*share)
	} else {
		t.Logf("inside in %.1f %% of %d runs", 100*share, runs)
	}
}

func TestCareNoStretch(t *testing.T) {
	wobble := careReadings(careStart, 15*time.Minute, 400, func(h float64) float64 { return 7 + 0.5*math.Sin(h*4) })
	slow := careReadings(careStart, 15*time.Minute, 8, func(h float64) float64 { return 7 + 3*h }) // under 2 h
	gaps := careReadings(careStart, 3*time.Hour, 20, func(h float64) float64 { return 7 + 0.1*h })
	suspect := careReadings(careStart, 15*time.Minute, 40, func(h float64) float64 { return 7 + h })
	for i := range suspect {
		suspect[i].Quality = logbook.Suspect
	}
	for name, rs := range map[string][]logbook.Reading{"wobble": wobble, "short": slow, "gaps": gaps,
		"suspect": suspect, "none": nil} {
		if s, ok := longestRise(rs); ok {
			t.Errorf("%s: stretch %v to %v", name, s.From, s.To)
		}
	}
}

// Growth over a day at a constant temperature is 1/D2 of it.
func TestCareExcursion(t *testing.T) {
	d, _ := biology.Lookup("atlantic_salmon")
	o := Outage{Since: careStart, Now: careStart.Add(24 * time.Hour), Tank: 9, Measured: true, Room: 20, Volume: 189,
		Heat: TankHeat{UA: 10, Low: 5, High: 20}}
	e, err := o.Excursion(d.Hatch, 5, 9, nil)
	if err != nil || math.Abs(e.Gained-1/d.Hatch.Days(9)) > 1e-9 || math.Abs(e.Planned-1/d.Hatch.Days(5)) > 1e-9 ||
		e.FromReadings {
		t.Errorf("%+v %v", e, err)
	}
	if want := d.Hatch.Days(5)/d.Hatch.Days(9) - 1; math.Abs(e.Days-want) > 1e-6 {
		t.Errorf("%v days ahead, want %v", e.Days, want)
	}
	logged := careReadings(careStart, time.Hour, 25, func(float64) float64 { return 12 })
	if e, err = o.Excursion(d.Hatch, 5, 9, logged); err != nil || !e.FromReadings ||
		math.Abs(e.Gained-1/d.Hatch.Days(12)) > 1e-9 {
		t.Errorf("%+v %v", e, err)
	}
}

// A pool of a small stream that warms on a spring day beside its own record of
// the air: real readings, with the sun on it, so the "UA" is that of one litre
// of no tank. It shows that the search and the fit work on a real record.
func TestCareRealWarming(t *testing.T) {
	dir, _ := os.Getwd()
	path := filepath.Join(dir, "../../../shared/reference/temperature/stream_flagged_bad_values_2013_2014.csv")
	f, err := os.Open(path)
	if err != nil {
		if os.Getenv("REDDSIDE_REFERENCE") == "required" {
			t.Fatal(err)
		}
		t.Skip("the real record is not here")
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	air := map[int64]float64{}
	var rs []logbook.Reading
	for _, row := range rows[1:] {
		at, err := time.Parse("2006-01-02 15:04:05", row[0])
		w, err1 := strconv.ParseFloat(row[1], 64)
		a, err2 := strconv.ParseFloat(row[2], 64)
		if err != nil || err1 != nil || err2 != nil || row[3] != "P" {
			continue
		}
		air[at.Unix()] = a
		rs = append(rs, logbook.Reading{At: at, Temperature: units.Celsius(w), Quality: logbook.Good})
	}
	s, ok := longestRise(rs)
	if !ok || s.Hours() < stretchHours || float64(s.Last-s.First) < stretchRise {
		t.Fatalf("no stretch in %d readings", len(rs))
	}
	t.Logf("longest stretch %v to %v, %.2f to %.2f C, %d readings", s.From, s.To, s.First, s.Last, len(s.Readings))
	// The longest stretch of each day, until one fits: on some the air is colder
	// than the water and the sun does it.
	fitted, rough := 0, 0
	for day := rs[0].At.Truncate(24 * time.Hour); day.Before(rs[len(rs)-1].At); day = day.Add(24 * time.Hour) {
		var of []logbook.Reading
		for _, r := range rs {
			if !r.At.Before(day) && r.At.Before(day.Add(24*time.Hour)) {
				of = append(of, r)
			}
		}
		s, ok := longestRise(of)
		if !ok {
			continue
		}
		fit, err := FitStretch(1000, 0, s, func(at time.Time) units.Celsius { return units.Celsius(air[at.Unix()]) })
		if err != nil {
			continue
		}
		if fitted++; fitted <= 3 {
			t.Logf("%v to %v: %.2f to %.2f C, UA %.1f (%.1f to %.1f) W/K per m3, time constant %.1f h, scatter %.2f C, %d readings", s.From, s.To, s.First, s.Last,
				fit.UA, fit.Low, fit.High, 1000*water.WaterJPerKgK/fit.UA/3600, fit.ResidualSD, fit.N)
		}
		// The curve must tell more than the mean of the readings does. On days when
		// the sun, not the air, warms the water it follows them less closely.
		if sd := spread(s.Readings); fit.ResidualSD >= sd {
			t.Errorf("%v: scatter %.2f C about the curve, %.2f C about the mean", s.From, fit.ResidualSD, sd)
		}
		if fit.ResidualSD > 0.25*float64(s.Last-s.First) {
			rough++
		}
	}
	if fitted == 0 {
		t.Error("no day could be fitted")
	}
	t.Logf("%d days fitted; on %d of them the scatter is over a quarter of the rise", fitted, rough)
}

// spread is the standard deviation of readings about their mean.
func spread(rs []logbook.Reading) float64 {
	var sum, squares float64
	for _, r := range rs {
		sum += float64(r.Temperature)
	}
	mean := sum / float64(len(rs))
	for _, r := range rs {
		squares += (float64(r.Temperature) - mean) * (float64(r.Temperature) - mean)
	}
	return math.Sqrt(squares / float64(len(rs)-1))
}
