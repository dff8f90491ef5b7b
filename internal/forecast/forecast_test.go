package forecast

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"reddside/internal/biology"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

var day0 = civil.MustParse("2025-10-01")

// steady returns a season fertilised and placed on day0, with a morning check of
// one temperature on each of n days.
func steady(sp logbook.Species, n int, c units.Celsius) *logbook.Season {
	return varying(sp, n, func(int) units.Celsius { return c })
}

func varying(sp logbook.Species, n int, at func(i int) units.Celsius) *logbook.Season {
	s := &logbook.Season{ID: "own", Lot: logbook.Lot{Species: sp, FertilisedOn: day0},
		Deliveries: []logbook.Delivery{{On: day0, Count: 200, Stage: logbook.GreenEgg}}}
	for i := range n {
		s.Checks = append(s.Checks, logbook.Check{On: day0.AddDays(i), Slot: logbook.Morning,
			Temperature: units.Some(at(i))})
	}
	return s
}

// Rate summation at one temperature is the model itself, for every species.
func TestConstantTemperatureIsTheModel(t *testing.T) {
	for _, sp := range logbook.AllSpecies() {
		dev, _ := biology.Lookup(string(sp))
		for _, c := range []units.Celsius{4, 5.5, 7, 8, 10} {
			s := steady(sp, 300, c)
			r := Compute(Input{Season: s, Today: day0.AddDays(10), Future: units.Some(c)})
			if !r.Ok() {
				t.Fatalf("%s: %s", sp, r.Reason)
			}
			want := map[Event]float64{Eyed: dev.EyedDays(c), Hatch: dev.Hatch.Days(c), SwimUp: dev.SwimUp.Days(c)}
			for _, e := range Events() {
				if got := r.Window(e).P50.Sub(day0); got != int(math.Floor(want[e]+0.5+1e-9)) {
					t.Errorf("%s %s at %v C: day %d, model %.3f", sp, e, c, got, want[e])
				}
			}
			for i := range r.Days {
				if x := float64(i+1) / dev.Hatch.Days(c); math.Abs(r.Days[i].Index-x) > 1e-9 {
					t.Fatalf("%s at %v C: index of day %d is %v, want %v", sp, c, i, r.Days[i].Index, x)
				}
				if u := float64(i+1) * float64(c); math.Abs(float64(r.Days[i].ThermalUnits)-u) > 1e-9*u {
					t.Fatalf("thermal units of day %d are %v, want %v", i, r.Days[i].ThermalUnits, u)
				}
			}
		}
	}
}

// Closed forms under changing temperature. Chinook ponding has rate
// exp(-5.99 + 0.150 T): with T rising by a step a day the sum is a geometric
// series. Coho hatch is a sum of degree-days: with T rising the sum is arithmetic.
func TestVaryingTemperatureAgreesWithClosedForms(t *testing.T) {
	const t0, step = 5.0, 0.05
	at := func(i int) units.Celsius { return units.Celsius(t0 + step*float64(i)) }
	s := steady(logbook.Chinook, 1, t0)
	s.Tank.Setpoint = units.Some(units.Celsius(t0))
	for i := 1; i < 200; i++ {
		s.Events = append(s.Events, logbook.Event{Kind: logbook.SetpointChange, On: day0.AddDays(i),
			Setpoint: units.Some(at(i))})
	}
	r := Compute(Input{Season: s, Today: day0})
	q := math.Exp(0.150 * step)
	first := math.Exp(-5.99 + 0.150*t0)
	n := math.Log(1+(q-1)/first) / math.Log(q) // first (q^n - 1)/(q - 1) = 1
	if got := r.SwimUp.P50.Sub(day0); got != int(math.Floor(n+0.5)) {
		t.Errorf("ponding on day %d, closed form %.2f", got, n)
	}
	r = Compute(Input{Season: varying(logbook.Coho, 60, at), Today: day0.AddDays(59)})
	m := 60.0
	if want := (m*t0 + step*m*(m-1)/2) / 417; math.Abs(r.Index-want) > 1e-12 {
		t.Errorf("index %v, closed form %v", r.Index, want)
	}
}

func TestStartOfTheRecord(t *testing.T) {
	delivered := civil.MustParse("2026-01-10")
	as := func(d logbook.Delivery, fertilised string) *logbook.Season {
		s := &logbook.Season{Lot: logbook.Lot{Species: logbook.AtlanticSalmon}}
		if fertilised != "" {
			s.Lot.FertilisedOn = civil.MustParse(fertilised)
		}
		d.On = delivered
		s.Deliveries = []logbook.Delivery{d}
		s.Checks = []logbook.Check{{On: delivered, Temperature: units.Some(units.Celsius(6))}}
		return s
	}
	tu, mean := units.Some(units.ThermalUnits(300)), units.Some(units.Celsius(6))
	// 0.60 is the worked value of the science table: 300/(6 x 83.7).
	cases := []struct {
		name       string
		d          logbook.Delivery
		fertilised string
		index      float64
		reason     string
	}{
		{"index", logbook.Delivery{Index: units.Some(0.55)}, "", 0.55, ""},
		{"units and mean", logbook.Delivery{ThermalUnits: tu, MeanTemperature: mean}, "", 0.60, ""},
		{"units and days", logbook.Delivery{ThermalUnits: tu}, "2025-11-21", 0.60, ""},
		{"days and mean", logbook.Delivery{MeanTemperature: mean}, "2025-11-21", 50 / 83.7, ""},
		{"same day", logbook.Delivery{}, "2026-01-10", 0, ""},
		{"days without temperature", logbook.Delivery{}, "2025-11-21", 0, "forecast.none.hatchery_temperature"},
		{"units without mean", logbook.Delivery{ThermalUnits: tu}, "", 0, "forecast.none.mean_temperature"},
		{"nothing", logbook.Delivery{}, "", 0, "forecast.none.start"},
		{"fertilised later", logbook.Delivery{Index: units.Some(0.5)}, "2026-02-01", 0,
			"forecast.none.fertilised_after_delivery"},
		{"absurd index", logbook.Delivery{Index: units.Some(math.Inf(1))}, "", 0, "forecast.none.start_impossible"},
	}
	for _, c := range cases {
		r := Compute(Input{Season: as(c.d, c.fertilised), Today: delivered})
		if r.Reason != c.reason || math.Abs(r.StartIndex-c.index) > 0.003 {
			t.Errorf("%s: index %v, reason %q, want %v, %q", c.name, r.StartIndex, r.Reason, c.index, c.reason)
		}
	}
	if r := Compute(Input{Season: &logbook.Season{Lot: logbook.Lot{Species: logbook.Coho}},
		Today: delivered}); r.Reason != "forecast.none.delivery" {
		t.Errorf("without a delivery: %q", r.Reason)
	}
	s := as(logbook.Delivery{Index: units.Some(0.5)}, "")
	s.Checks = nil
	if r := Compute(Input{Season: s, Today: delivered}); r.Reason != "forecast.none.temperature" {
		t.Errorf("without any temperature: %q", r.Reason)
	}
	// Degree-day species need no mean temperature: 250/417 of the way.
	s = as(logbook.Delivery{ThermalUnits: units.Some(units.ThermalUnits(250))}, "")
	s.Lot.Species = logbook.Coho
	if r := Compute(Input{Season: s, Today: delivered}); math.Abs(r.StartIndex-250.0/417) > 1e-9 {
		t.Errorf("coho: %v %q", r.StartIndex, r.Reason)
	}
}

func reading(on civil.Date, clock string, c units.Celsius) logbook.Reading {
	at, _ := time.Parse("2006-01-02 15:04", on.String()+" "+clock)
	return logbook.Reading{At: at, On: on, Temperature: c, Quality: logbook.Good}
}

func TestLoggerDayIsATimeWeightedMean(t *testing.T) {
	s := steady(logbook.AtlanticSalmon, 3, 6)
	on := day0.AddDays(1)
	// 4 C for 12 h read hourly, 8 C for 12 h read every 3 h: the mean over time is
	// 6, the plain mean of the readings 5.
	for h := range 12 {
		s.Readings = append(s.Readings, reading(on, time.Date(0, 1, 1, h, 0, 0, 0, time.UTC).Format("15:04"), 4))
	}
	for h := 13; h < 24; h += 3 {
		s.Readings = append(s.Readings, reading(on, time.Date(0, 1, 1, h, 0, 0, 0, time.UTC).Format("15:04"), 8))
	}
	bad := reading(on, "23:30", 30)
	bad.Quality = logbook.Suspect
	s.Readings = append(s.Readings, bad)
	r := Compute(Input{Season: s, Today: day0.AddDays(2)})
	got := r.DayOn(on)
	if got.Source != FromLogger || math.Abs(float64(got.Temperature.V)-6) > 0.1 {
		t.Errorf("%+v, want 6 C from the logger", got)
	}
	if len(r.Questions) != 0 {
		t.Errorf("a check inside the logger's range raises nothing: %v", r.Questions)
	}
	s.Checks[1].Temperature = units.Some(units.Celsius(10))
	r = Compute(Input{Season: s, Today: day0.AddDays(2)})
	if len(r.Questions) != 1 || r.Questions[0].On != on || r.Questions[0].Used != FromLogger ||
		r.DayOn(on).Temperature.V > 7 {
		t.Errorf("a check 2 C above the logger must be asked about and not mixed in: %+v", r.Questions)
	}
}

func TestMissingDaysAreDrawnStraightAndMarked(t *testing.T) {
	s := varying(logbook.AtlanticSalmon, 21, func(i int) units.Celsius { return units.Celsius(4 + 0.1*float64(i)) })
	whole := Compute(Input{Season: s, Today: day0.AddDays(20)})
	s.Checks = append(s.Checks[:5:5], s.Checks[12:]...)
	r := Compute(Input{Season: s, Today: day0.AddDays(20)})
	if r.EstimatedDays != 7 || math.Abs(r.Index-whole.Index) > 1e-12 {
		t.Errorf("%d estimated days, index %v, want 7 and %v", r.EstimatedDays, r.Index, whole.Index)
	}
	for i := range 21 {
		if in := i >= 5 && i < 12; r.Days[i].Estimated != in || (in && r.Days[i].Source != Interpolated) {
			t.Errorf("day %d: %+v", i, r.Days[i])
		}
	}
	width := func(r *Result) int { return r.Hatch.P90.Sub(r.Hatch.P10) }
	if width(&r) < width(&whole) {
		t.Errorf("missing days must not narrow the window: %d, %d days", width(&r), width(&whole))
	}
}

func TestDaysAheadFollowTheSetpointOrTheRecentMean(t *testing.T) {
	s := steady(logbook.AtlanticSalmon, 20, 6)
	s.Tank.Setpoint = units.Some(units.Celsius(6))
	s.Events = []logbook.Event{{Kind: logbook.SetpointChange, On: day0.AddDays(30),
		Setpoint: units.Some(units.Celsius(9))}}
	r := Compute(Input{Season: s, Today: day0.AddDays(19)})
	if d := r.DayOn(day0.AddDays(29)); d.Source != Planned || d.Temperature.V != 6 {
		t.Errorf("%+v", d)
	}
	if d := r.DayOn(day0.AddDays(30)); d.Source != Planned || d.Temperature.V != 9 || !d.Estimated {
		t.Errorf("%+v", d)
	}
	s.Tank.Setpoint = units.Some(units.Celsius(3)) // not followed
	r = Compute(Input{Season: s, Today: day0.AddDays(19)})
	if d := r.DayOn(day0.AddDays(30)); d.Source != RecentMean || math.Abs(float64(d.Temperature.V-6)) > 1e-9 {
		t.Errorf("%+v", d)
	}
}

func TestSharesOfDoubtAddUp(t *testing.T) {
	r := Compute(Input{Season: steady(logbook.AtlanticSalmon, 30, 6), Today: day0.AddDays(29)})
	for _, e := range Events() {
		sum := 0.0
		for _, p := range r.Window(e).Parts {
			sum += p.Share
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Errorf("%s: shares add up to %v", e, sum)
		}
	}
}

// absurd draws temperatures that a broken logger or a wrong unit can produce.
func absurd(t *rapid.T, label string) units.Celsius {
	return units.Celsius(rapid.OneOf(rapid.Float64Range(-2, 20), rapid.Float64(),
		rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), -300, 45, 1e300})).Draw(t, label))
}

func TestNoSeriesBreaksTheForecast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 60).Draw(t, "n")
		s := &logbook.Season{ID: "own", Lot: logbook.Lot{Species: rapid.SampledFrom(logbook.AllSpecies()).Draw(t,
			"species")}}
		d := logbook.Delivery{On: day0}
		if rapid.Bool().Draw(t, "index") {
			d.Index = units.Some(rapid.Float64().Draw(t, "x"))
		} else {
			d.ThermalUnits, d.MeanTemperature = units.Some(units.ThermalUnits(rapid.Float64().Draw(t, "u"))),
				units.Some(absurd(t, "m"))
		}
		s.Deliveries = []logbook.Delivery{d}
		for i := range n {
			c := logbook.Check{On: day0.AddDays(i + rapid.IntRange(-3, 3).Draw(t, "jump")),
				Temperature: units.Some(absurd(t, "c"))}
			c.Hatched = rapid.SampledFrom([]logbook.Hatched{"", "", "", logbook.HatchedNone, logbook.HatchedFew,
				logbook.HatchedAll}).Draw(t, "h")
			c.Stage = rapid.SampledFrom([]logbook.Stage{"", "", logbook.GreenEgg, logbook.EyedEgg, logbook.Alevin,
				logbook.Fry}).Draw(t, "stage")
			s.Checks = append(s.Checks, c)
		}
		today := day0.AddDays(rapid.IntRange(-1, 90).Draw(t, "today"))
		sib := Observation{Season: "other", Event: Hatch, Low: rapid.Float64().Draw(t, "low"),
			High: rapid.Float64().Draw(t, "high"), Tau: rapid.Float64().Draw(t, "tau")}
		r := Compute(Input{Season: s, Today: today, Siblings: []Observation{sib}})
		if !r.Ok() {
			return
		}
		for i := range r.Days {
			if v := r.Days[i]; !units.Finite(v.Index) || !units.Finite(v.ThermalUnits) ||
				!units.Finite(v.Temperature.V) ||
				(i > 0 && (v.Index < r.Days[i-1].Index || v.ThermalUnits < r.Days[i-1].ThermalUnits)) {
				t.Fatalf("day %d: %+v", i, v)
			}
		}
		var none civil.Date // the last look that saw nothing hatched
		for i := range s.Checks {
			if c := &s.Checks[i]; c.Hatched == logbook.HatchedNone && !c.On.Before(day0) && !c.On.After(r.Today) {
				none = civil.Max(none, c.On)
			}
		}
		for _, e := range Events() {
			w := r.Window(e)
			if w.P50.Before(w.P10) || w.P90.Before(w.P50) || w.Last.Before(w.First) {
				t.Fatalf("%s is not in order: %+v", e, w)
			}
			if !w.Ok() && !w.Never && !w.BeforeStart {
				t.Fatalf("%s has no dates and says nothing: %+v", e, w)
			}
			if e == Hatch && w.Ok() && w.Observed.IsZero() && r.SwimUp.Observed.IsZero() && w.P10.Before(none) {
				t.Fatalf("nothing hatched on %v, but the window starts before: %+v", none, w)
			}
			if w.Ok() && w.Observed.IsZero() && w.P10.Before(day0) && e != Eyed {
				t.Fatalf("%s before the record: %+v", e, w)
			}
		}
		// Eyes and fry said to be seen on one day leave hatching no day between them.
		room := r.Eyed.Observed.IsZero() || r.SwimUp.Observed.IsZero() || r.SwimUp.P50.Sub(r.Eyed.P50) >= 2
		for i, e := range Events()[1:] {
			a, b := r.Window(Events()[i]), r.Window(e)
			if room && a.Ok() && b.Ok() && (a.Observed.IsZero() || b.Observed.IsZero()) && !a.P50.Before(b.P50) {
				t.Fatalf("%s is not before %s: %+v, %+v", a.Event, e, a, b)
			}
		}
		if !units.Finite(r.Lot.Mean) || !units.Finite(r.Lot.SD) {
			t.Fatalf("lot %+v", r.Lot)
		}
	})
}

// Inside the model's range a warmer tank never hatches later. Readings of one tank lie
// within 6 C; one that stands further off is left out as a slip.
func TestWarmerIsNeverLater(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sp := rapid.SampledFrom(logbook.AllSpecies()).Draw(t, "species")
		dev, _ := biology.Lookup(string(sp))
		lo, hi := float64(dev.Hatch.Low.V), float64(dev.Hatch.High.V)
		n := rapid.IntRange(1, 40).Draw(t, "n")
		base := rapid.Float64Range(lo, hi-5.9).Draw(t, "base")
		temps := rapid.SliceOfN(rapid.Float64Range(base, base+5.9), n, n).Draw(t, "temps")
		lift := rapid.Float64Range(0, hi-lo).Draw(t, "lift")
		warm := func(i int) units.Celsius { return units.Celsius(math.Min(hi, temps[i]+lift)) }
		cold := func(i int) units.Celsius { return units.Celsius(temps[i]) }
		a := Compute(Input{Season: varying(sp, n, cold), Today: day0.AddDays(n - 1)})
		b := Compute(Input{Season: varying(sp, n, warm), Today: day0.AddDays(n - 1)})
		for _, e := range Events() {
			if wa, wb := a.Window(e), b.Window(e); wa.Ok() && wb.Ok() && wb.P50.After(wa.P50) {
				t.Fatalf("%s: %v warm, %v cold", e, wb.P50, wa.P50)
			}
		}
	})
}

// wavy is water that is never twice the same.
func wavy(i int) units.Celsius { return units.Celsius(4 + 0.5*math.Sin(float64(i))) }

func BenchmarkCompute(b *testing.B) {
	s := varying(logbook.AtlanticSalmon, 180, wavy)
	b.ReportAllocs()
	for b.Loop() {
		Compute(Input{Season: s, Today: day0.AddDays(110)})
	}
}

func BenchmarkComputeLearning(b *testing.B) {
	s := varying(logbook.AtlanticSalmon, 180, wavy)
	var sib []Observation
	for i := range 20 {
		sib = append(sib, Observation{Season: logbook.ID(rune('a' + i)), Event: Hatch, Low: 0.02, High: 0.05,
			Tau: 0.04})
	}
	b.ReportAllocs()
	for b.Loop() {
		Compute(Input{Season: s, Today: day0.AddDays(110), Siblings: sib})
	}
}

func TestHatchingOutsideTheSeasonIsAskedAbout(t *testing.T) {
	s := steady(logbook.AtlanticSalmon, 30, 6)
	s.Deliveries[0].On = day0.AddDays(5)
	s.Deliveries[0].Index = units.Some(0.5)
	s.ClosedOn = day0.AddDays(25)
	s.Checks[2].Hatched = logbook.HatchedFew
	s.Checks[28].Hatched = logbook.HatchedAll
	r := Compute(Input{Season: s, Today: day0.AddDays(29)})
	if len(r.Questions) != 2 || r.Questions[0].Key != "forecast.question.before_delivery" ||
		r.Questions[1].Key != "forecast.question.after_end" {
		t.Errorf("%+v", r.Questions)
	}
	if !r.Hatch.Observed.IsZero() || r.Today != s.ClosedOn {
		t.Errorf("%v %+v", r.Today, r.Hatch)
	}
	if r := Compute(Input{Season: s, Today: day0.AddDays(4000)}); !r.Ok() {
		t.Errorf("a closed season stays as it ended: %s", r.Reason)
	}
	s.ClosedOn = civil.Date{}
	if r := Compute(Input{Season: s, Today: day0.AddDays(4000)}); r.Reason != "forecast.none.too_long" {
		t.Errorf("a wrong year: %q", r.Reason)
	}
}

// A few hatched: half follow within days, and not before today.
func TestAFewHatchedBringTheMiddleNear(t *testing.T) {
	s := steady(logbook.AtlanticSalmon, 66, 7)
	before := Compute(Input{Season: s, Today: day0.AddDays(65)})
	for i := range 64 {
		s.Checks[i].Hatched = logbook.HatchedNone
	}
	s.Checks[65].Hatched = logbook.HatchedFew
	r := Compute(Input{Season: s, Today: day0.AddDays(65)})
	if r.Hatch.P10.Before(r.Today) || r.Hatch.P90.Sub(r.Today) > 7 || !r.Hatch.P90.Before(before.Hatch.P90) {
		t.Errorf("%+v, before %+v", r.Hatch, before.Hatch)
	}
}

// First feeding says that fry swim when nobody noted the stage.
func TestFirstFeedingCountsAsSwimUp(t *testing.T) {
	s := steady(logbook.AtlanticSalmon, 130, 7)
	s.Events = []logbook.Event{{Kind: logbook.FirstFeed, On: day0.AddDays(120)}}
	r := Compute(Input{Season: s, Today: day0.AddDays(129)})
	if r.SwimUp.Observed.OnOrBefore != day0.AddDays(120) {
		t.Errorf("%+v", r.SwimUp)
	}
}
