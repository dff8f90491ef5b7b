package web

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/plan"
)

// look stores a check of a tank directly.
func (ts *testServer) look(s *logbook.Season, on string, edit func(*logbook.Check)) logbook.Check {
	ts.t.Helper()
	c := logbook.Check{SeasonID: s.ID, On: civil.MustParse(on), Slot: logbook.Morning,
		Temperature: units.Some[units.Celsius](7)}
	if edit != nil {
		edit(&c)
	}
	saved, err := ts.DB.SaveCheck(context.Background(), ts.coordinator, c, ts.clockAt(), store.Write{})
	ts.must(err)
	return saved.Row
}

// warmWeeks stores a check at 7 degrees for each day from the delivery to the day
// before testDay.
func (ts *testServer) warmWeeks(s *logbook.Season) {
	for d := civil.MustParse("2026-01-20"); d.Before(civil.MustParse(testDay)); d = d.AddDays(1) {
		ts.look(s, d.String(), nil)
	}
}

// The words of a window in both languages; the first is the example of the
// task that asked for it, the others follow the calendar of 2026.
func TestWindowInWords(t *testing.T) {
	ts := newTestServer(t)
	en, fr := ts.Cat.Printer("en", units.Cel), ts.Cat.Printer("fr", units.Cel)
	for _, x := range []struct{ from, middle, to, en, fr string }{
		{"2027-03-04", "2027-03-09", "2027-03-16", "between Thursday 4 and Tuesday 16 March, most likely the 9th",
			"entre le jeudi 4 et le mardi 16 mars, le plus probablement le 9"},
		{"2026-02-26", "2026-03-01", "2026-03-03",
			"between Thursday 26 February and Tuesday 3 March, most likely 1 March",
			"entre le jeudi 26 février et le mardi 3 mars, le plus probablement le 1er mars"},
		{"2026-02-20", "2026-02-28", "2026-03-03",
			"between Friday 20 February and Tuesday 3 March, most likely 28 February",
			"entre le vendredi 20 février et le mardi 3 mars, le plus probablement le 28 février"},
		{"2026-03-20", "2026-03-22", "2026-03-23", "between Friday 20 and Monday 23 March, most likely the 22nd",
			"entre le vendredi 20 et le lundi 23 mars, le plus probablement le 22"},
		{"2026-03-11", "2026-03-11", "2026-03-11", "on Wednesday 11 March", "le mercredi 11 mars"},
	} {
		from, middle, to := civil.MustParse(x.from), civil.MustParse(x.middle), civil.MustParse(x.to)
		if got := plan.WindowWords(en, from, middle, to); got != x.en {
			t.Errorf("%q, want %q", got, x.en)
		}
		if got := plan.WindowWords(fr, from, middle, to); got != x.fr {
			t.Errorf("%q, want %q", got, x.fr)
		}
	}
}

func TestForecastPage(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	a, err := ts.Assess.Assess(context.Background(), ts.load(ts.one), testNow)
	ts.must(err)
	h := &a.Forecast.Hatch
	en := ts.Cat.Printer("en", units.Cel)
	p := ts.as(ts.class).get(seasonPath(ts.one, "forecast")).want(t, 200, "Forecast for Tank 1", `class="ruler"`,
		"The day on which half of the eggs have hatched comes "+plan.WindowWords(en, h.P10, h.P50, h.P90)+".",
		"Not all on one day",
		"Why the day is not sure", "this lot of eggs", "the thermometer", "Nothing yet. Lots differ",
		"What to do, and when",
		"Let the alevins out of the basket", "Give the first food", "Known error", "/forecast/how", "/guess")
	p.lacks(t, seasonPath(ts.one, "plan"), "[forecast", " style=", "<script>", "onclick")
	ts.as(ts.keeper).get(seasonPath(ts.one, "forecast")).want(t, 200, seasonPath(ts.one, "plan"))
	fr := ts.as(ts.class)
	fr.lang = "fr"
	fr.get(seasonPath(ts.one, "forecast")).want(t, 200, "Prévision pour Tank 1", "le plus probablement",
		"Pourquoi le jour n’est pas sûr").
		lacks(t, "between", "[forecast")
	ts.as(ts.birchKeeper).get(seasonPath(ts.one, "forecast")).want(t, 404)
	ts.as(ts.class).get("/seasons/"+string(ts.one.ID)).want(t, 200, seasonPath(ts.one, "forecast"))
	ts.as(ts.class).get(seasonPath(ts.one, "forecast/how")).want(t, 200, "path with 100 steps",
		"Show it for teachers").lacks(t, "1/D2")
}

// A weekend or holiday is named with the nearest days of school.
func TestForecastNamesClosedDays(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	a, err := ts.Assess.Assess(context.Background(), ts.load(ts.one), testNow)
	ts.must(err)
	on := a.Forecast.SwimUp.P50
	_, err = ts.DB.CreateClosedSpan(context.Background(), ts.coordinator, ts.alder.ID,
		logbook.ClosedSpan{From: on.AddDays(-1), To: on.AddDays(1), Reason: "spring break"}, testNow,
		store.IdempotencyKey{})
	ts.must(err)
	ts.as(ts.keeper).get(seasonPath(ts.one, "forecast")).want(t, 200, "“spring break”", "Nearest school days")
}

// The first line of the sum against the published equation, worked out here:
// log10 D = 5.1908 - 2.6562 log10(T + 11), Crisp 1981 model 1b (constants from
// memory, as in testdata/reference/models.csv).
func TestHowForTeachers(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	d := math.Pow(10, 5.1908-2.6562*math.Log10(7+11))
	p := ts.as(ts.keeper).get(seasonPath(ts.one, "forecast/how")).want(t, 200, "Rate summation",
		fmt.Sprintf("hatch in %.1f days", d),
		fmt.Sprintf("= %.4f of the way", 1/d), "20 January 2026", "daily check", "AS-H1: Crisp 1981",
		"0.0\u00a0°C to 12.0\u00a0°C",
		"Swim-up takes 1.70 times", "Known error", "Show it for pupils")
	if n := strings.Count(p.Body, fmt.Sprintf(">%.4f<", 1/d)); n < 20 {
		t.Errorf("%d days at 7 degrees have the rate %.4f", n, 1/d)
	}
	ts.as(ts.keeper).get(seasonPath(ts.one, "forecast/how?level=pupil")).want(t, 200, "path with 100 steps",
		fmt.Sprintf("That day was worth %.1f steps", 100/d))
}

// A hatch in another tank of the lot is learnt from everywhere; a tank of another
// school has its name for a coordinator only.
func TestForecastLearnsFromOtherTanks(t *testing.T) {
	ts := newTestServer(t)
	for _, s := range []*logbook.Season{ts.one, ts.two, ts.far} {
		ts.warmWeeks(s)
	}
	before, err := ts.Assess.Assess(context.Background(), ts.load(ts.one), testNow)
	ts.must(err)
	hatch := func(s *logbook.Season) {
		ts.look(s, testDay, func(c *logbook.Check) { c.Slot, c.Hatched = "extra", logbook.HatchedHalf })
		ts.look(s, "2026-02-08", func(c *logbook.Check) { c.Slot, c.Hatched = "extra", logbook.HatchedNone })
	}
	hatch(ts.far)
	keeper := ts.as(ts.keeper).get(seasonPath(ts.one, "forecast")).want(t, 200, "A tank of another school",
		"The doubt about this lot fell")
	keeper.lacks(t, "Tank B", "Birch")
	ts.as(ts.coordinator).get(seasonPath(ts.one, "forecast")).want(t, 200, "Tank B, Birch Hill School")
	after, err := ts.Assess.Assess(context.Background(), ts.load(ts.one), testNow)
	ts.must(err)
	if b, a := before.Forecast.Lot.SD, after.Forecast.Lot.SD; a >= b {
		t.Errorf("the doubt about the lot went from %.3f to %.3f", b, a)
	}
	hatch(ts.two)
	ts.as(ts.keeper).get(seasonPath(ts.one, "forecast")).want(t, 200, "Tank 2: ")
	ts.as(ts.keeper).get(seasonPath(ts.one, "")[:len(seasonPath(ts.one, ""))-1]).want(t, 200).lacks(t, "Tank B")
}

// A closed season of the same supplier and species moves the next forecast, from
// the day it closed, and the board notices.
func TestClosedSeasonsInform(t *testing.T) {
	ts, ctx := newTestServer(t), context.Background()
	ts.warmWeeks(ts.one)
	if _, err := ts.Assess.BoardEntries(ctx, ts.coordinator, testNow); err != nil {
		t.Fatal(err)
	}
	lot, err := ts.DB.CreateLot(ctx, ts.coordinator, logbook.Lot{Code: "OLD", Species: logbook.AtlanticSalmon,
		Supplier:     " test HATCHERY",
		FertilisedOn: civil.MustParse("2024-11-01")}, testNow, store.IdempotencyKey{})
	ts.must(err)
	tank, err := ts.DB.CreateTank(ctx, ts.coordinator, logbook.Tank{SiteID: ts.birch.ID, Name: "Old tank", Volume: 200,
		Wall: logbook.BareGlass}, testNow, store.IdempotencyKey{})
	ts.must(err)
	old, err := ts.DB.CreateSeason(ctx, ts.coordinator, logbook.Season{Label: "2024-25", Tank: tank, Lot: lot}, testNow,
		store.IdempotencyKey{})
	ts.must(err)
	_, err = ts.DB.CreateDelivery(ctx, ts.coordinator,
		logbook.Delivery{SeasonID: old.ID, On: civil.MustParse("2025-01-20"), Count: 100,
			Method: logbook.ByHand, ThermalUnits: units.Some[units.ThermalUnits](310), Stage: logbook.EyedEgg}, testNow,
		store.Write{})
	ts.must(err)
	// By the model half hatch about 16 February at 7 degrees; here on 25 February.
	for d := civil.MustParse("2025-01-20"); d.Before(civil.MustParse("2025-02-26")); d = d.AddDays(1) {
		ts.look(old, d.String(), func(c *logbook.Check) {
			c.Hatched = logbook.HatchedNone
			if d == civil.MustParse("2025-02-25") {
				c.Hatched = logbook.HatchedHalf
			}
		})
	}
	before, err := ts.Assess.Assess(ctx, ts.load(ts.one), testNow)
	ts.must(err)
	if before.Forecast.Lot.Past != 0 {
		t.Fatal("an open season counts as closed")
	}
	old = ts.load(old)
	old.ClosedOn = civil.MustParse("2025-06-01")
	_, err = ts.DB.UpdateSeason(ctx, ts.coordinator, *old, testNow)
	ts.must(err)
	after, err := ts.Assess.Assess(ctx, ts.load(ts.one), testNow)
	ts.must(err)
	if f := after.Forecast.Lot; f.Past != 1 || !(f.PriorMean > before.Forecast.Lot.PriorMean) {
		t.Errorf("past %d, prior mean %.3f, before %.3f", f.Past, f.PriorMean, before.Forecast.Lot.PriorMean)
	}
	if !after.Forecast.Hatch.P50.After(before.Forecast.Hatch.P50) {
		t.Errorf("hatch %s, before %s", after.Forecast.Hatch.P50, before.Forecast.Hatch.P50)
	}
	entries, err := ts.Assess.BoardEntries(ctx, ts.coordinator, testNow)
	ts.must(err)
	for _, e := range entries {
		if e.SeasonID == ts.one.ID && e.Forecast.Hatch.P50 != after.Forecast.Hatch.P50 {
			t.Errorf("the board says %s", e.Forecast.Hatch.P50)
		}
	}
	ts.as(ts.keeper).get(seasonPath(ts.one, "forecast")).want(t, 200, "1 closed season of this supplier").lacks(t,
		"OLD", "Birch")
}

// Nothing is learnt before its day: the evidence of a day holds no later close.
func TestEvidenceKnowsNoFuture(t *testing.T) {
	e := assess.Evidence{Past: []assess.ClosedLot{{ClosedOn: civil.MustParse("2025-06-01")},
		{ClosedOn: civil.MustParse("2026-06-01")}}}
	if n := len(e.By(civil.MustParse("2026-02-10"))); n != 1 {
		t.Errorf("%d lots known", n)
	}
	if n := len(e.By(civil.MustParse("2025-05-31"))); n != 0 {
		t.Errorf("%d lots known", n)
	}
}

// A contradiction is asked about; confirmed, it is learnt from.
func TestQuestionIsConfirmed(t *testing.T) {
	ts := newTestServer(t)
	for d := civil.MustParse("2026-01-20"); d.Before(civil.MustParse("2026-01-24")); d = d.AddDays(1) {
		ts.look(ts.one, d.String(), func(c *logbook.Check) { c.Hatched = logbook.HatchedNone })
	}
	c := ts.look(ts.one, "2026-01-24", func(c *logbook.Check) { c.Hatched = logbook.HatchedAll }) // three weeks early
	b := ts.as(ts.keeper)
	p := b.get(seasonPath(ts.one, "forecast")).want(t, 200, "Look at this", "does not fit the temperatures",
		"/checks/"+string(c.ID)+"/correct", "learn from it")
	ts.as(ts.class).get(seasonPath(ts.one, "forecast")).want(t, 200, "does not fit").lacks(t, "learn from it",
		"/correct")
	f := p.hidden()
	if f.Get("check") != string(c.ID) || f.Get("mark") != "hatched" {
		t.Fatalf("hidden fields %v", f)
	}
	ts.as(ts.class).post(seasonPath(ts.one, "forecast/confirm"), f).want(t, 403)
	ts.as(ts.birchKeeper).post(seasonPath(ts.one, "forecast/confirm"), f).want(t, 404)
	ts.as(ts.birchKeeper).post(seasonPath(ts.far, "forecast/confirm"), f).want(t, 404)
	b.post(seasonPath(ts.one, "forecast/confirm"), f).want(t, 303)
	b.get(seasonPath(ts.one, "forecast")).want(t, 200, "The entry is confirmed").lacks(t,
		"does not fit the temperatures")
	f.Set("mark", "anything")
	b.post(seasonPath(ts.one, "forecast/confirm"), f).want(t, 422)
}

// A check and a logger that differ are asked about until somebody has looked.
func TestCheckAndLoggerAreAskedAbout(t *testing.T) {
	ts := newTestServer(t)
	on := civil.MustParse("2026-02-05")
	var rs []logbook.Reading
	for h := range 24 {
		rs = append(rs, logbook.Reading{At: on.Start(ts.alder.Location()).Add(time.Duration(h) * time.Hour), On: on,
			Temperature: 5, Quality: logbook.Good})
	}
	_, err := ts.DB.SaveReadings(context.Background(), ts.coordinator,
		store.Import{SeasonID: ts.one.ID, FileSHA256: store.HashToken("x")}, rs, testNow, nil)
	ts.must(err)
	ts.look(ts.one, on.String(), nil) // 7 degrees
	b := ts.as(ts.keeper)
	p := b.get(seasonPath(ts.one, "forecast")).want(t, 200, "Which one is right?", "keep the logger")
	b.post(seasonPath(ts.one, "forecast/confirm"), p.hidden()).want(t, 303)
	b.get(seasonPath(ts.one, "forecast")).want(t, 200).lacks(t, "Which one is right?")
}

func TestForecastWithoutFigures(t *testing.T) {
	ts, ctx := newTestServer(t), context.Background()
	tank, err := ts.DB.CreateTank(ctx, ts.coordinator, logbook.Tank{SiteID: ts.alder.ID, Name: "Empty", Volume: 200,
		Wall: logbook.BareGlass}, testNow, store.IdempotencyKey{})
	ts.must(err)
	s, err := ts.DB.CreateSeason(ctx, ts.coordinator, logbook.Season{Label: "2025-26", Tank: tank, Lot: ts.lot},
		testNow, store.IdempotencyKey{})
	ts.must(err)
	for _, page := range []string{"forecast", "forecast/how", "plan"} {
		ts.as(ts.keeper).get(seasonPath(s, page)).want(t, 200, "Enter the delivery of the eggs first")
	}
	ts.as(ts.keeper).get(seasonPath(s, "guess")).want(t, 200, "Guesses start when the eggs have arrived")
}

// Weak species say so on every forecast.
func TestWeakSpeciesSaySo(t *testing.T) {
	ts, ctx := newTestServer(t), context.Background()
	for _, species := range logbook.AllSpecies() {
		lot, err := ts.DB.CreateLot(ctx, ts.coordinator, logbook.Lot{Code: string(species), Species: species,
			FertilisedOn: civil.MustParse("2025-12-01")}, testNow, store.IdempotencyKey{})
		ts.must(err)
		tank, err := ts.DB.CreateTank(ctx, ts.coordinator, logbook.Tank{SiteID: ts.alder.ID, Name: string(species),
			Volume: 200, Wall: logbook.BareGlass,
			Setpoint: units.Some[units.Celsius](8)}, testNow, store.IdempotencyKey{})
		ts.must(err)
		s, err := ts.DB.StartSeason(ctx, ts.coordinator, logbook.Season{Label: "2025-26", Tank: tank, Lot: lot},
			logbook.Delivery{On: civil.MustParse("2026-01-20"),
				Count: 100, Method: logbook.ByHand, MeanTemperature: units.Some[units.Celsius](6),
				Stage: logbook.EyedEgg},
			testNow, store.IdempotencyKey{})
		ts.must(err)
		p := ts.as(ts.class).get(seasonPath(s, "forecast")).want(t, 200, "The day on which half")
		a, err := ts.Assess.Assess(ctx, ts.load(s), testNow)
		ts.must(err)
		if got := strings.Contains(p.Body, "Rough forecast"); got != a.Forecast.Weak {
			t.Errorf("%s: weak %v, page says so %v", species, a.Forecast.Weak, got)
		}
		ts.as(ts.class).get(seasonPath(s, "forecast/how?level=teacher")).want(t, 200, "Models")
	}
}
