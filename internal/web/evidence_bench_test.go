package web

import (
	"context"
	"fmt"
	"testing"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// thousand plants 1,000 tanks in 25 lots of one supplier, and 20 closed lots of
// the same supplier whose hatch was seen.
func thousand(b *testing.B) *testServer {
	ts, ctx := newTestServer(b), context.Background()
	start := func(lot logbook.Lot, site logbook.ID, n int, on civil.Date) *logbook.Season {
		tank, err := ts.DB.CreateTank(ctx, ts.coordinator, logbook.Tank{SiteID: site, Name: fmt.Sprintf("T%04d", n),
			Volume: 200, Wall: logbook.BareGlass,
			Setpoint: units.Some[units.Celsius](7)}, testNow, store.IdempotencyKey{})
		ts.must(err)
		s, err := ts.DB.StartSeason(ctx, ts.coordinator, logbook.Season{Label: "x", Tank: tank, Lot: lot},
			logbook.Delivery{On: on, Count: 200,
				Method: logbook.ByHand, ThermalUnits: units.Some[units.ThermalUnits](310),
				MeanTemperature: units.Some[units.Celsius](5), Stage: logbook.EyedEgg},
			testNow, store.IdempotencyKey{})
		ts.must(err)
		return s
	}
	lot := func(n int) logbook.Lot {
		l, err := ts.DB.CreateLot(ctx, ts.coordinator, logbook.Lot{Code: fmt.Sprintf("L%03d", n),
			Species: logbook.AtlanticSalmon, Supplier: "Hatchery"}, testNow, store.IdempotencyKey{})
		ts.must(err)
		return l
	}
	for n := range 20 {
		s := start(lot(n), ts.birch.ID, n, civil.MustParse("2025-01-20"))
		for d := range 30 {
			ts.look(s, civil.MustParse("2025-01-20").AddDays(d).String(), func(c *logbook.Check) {
				c.Hatched = logbook.HatchedNone
				if d == 29 {
					c.Hatched = logbook.HatchedHalf
				}
			})
		}
		s = ts.load(s)
		s.ClosedOn = civil.MustParse("2025-06-01")
		_, err := ts.DB.UpdateSeason(ctx, ts.coordinator, *s, testNow)
		ts.must(err)
	}
	for n := range 25 {
		l := lot(100 + n)
		for k := range 40 {
			start(l, ts.alder.ID, 1000+40*n+k, civil.MustParse("2026-01-20"))
		}
	}
	return ts
}

// The board of 1,000 tanks when nothing has changed since it was last shown.
func BenchmarkBoardWarm(b *testing.B) {
	ts, ctx := thousand(b), context.Background()
	if _, err := ts.Assess.BoardEntries(ctx, ts.coordinator, testNow); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		out, err := ts.Assess.BoardEntries(ctx, ts.coordinator, testNow)
		if err != nil || len(out) != 1003 {
			b.Fatal(len(out), err)
		}
	}
}

// Forecast of one season with what was learnt from 39 tanks and 20 closed lots,
// read from the database.
func BenchmarkAssess(b *testing.B) {
	ts, ctx := thousand(b), context.Background()
	heads, err := ts.DB.SeasonHeads(ctx, store.SeasonFilter{SiteID: ts.alder.ID, OpenOnly: true})
	ts.must(err)
	season, err := ts.DB.LoadSeason(ctx, heads[500].ID)
	ts.must(err)
	for b.Loop() {
		a, err := ts.Assess.Assess(ctx, season, testNow)
		if err != nil || a.Forecast.Lot.Past != 20 {
			b.Fatal(a.Forecast.Lot.Past, err)
		}
	}
}

// A season of 100 days with observations of 40 tanks and 20 closed lots: forecast
// and planner alone.
func benchSeason(b *testing.B) (*logbook.Season, assess.Evidence) {
	ts := newTestServer(b)
	ts.warmWeeks(ts.one)
	var known assess.Evidence
	for n := range 40 {
		known.Siblings = append(known.Siblings, forecast.Observation{Season: logbook.ID(fmt.Sprint(n)),
			Event: forecast.Hatch, Low: -0.03, High: 0.02, Tau: 0.03,
			When: forecast.Interval{After: civil.MustParse("2026-02-01"), OnOrBefore: civil.MustParse("2026-02-03")}})
	}
	for range 20 {
		known.Past = append(known.Past, assess.ClosedLot{PastLot: forecast.PastLot{Mean: 0.03, SD: 0.02},
			ClosedOn: civil.MustParse("2025-06-01")})
	}
	return ts.load(ts.one), known
}

func BenchmarkForecastLearning(b *testing.B) {
	season, known := benchSeason(b)
	for b.Loop() {
		if r := known.Forecast(season, civil.MustParse(testDay)); len(r.Lot.From) != 40 || r.Lot.Past != 20 {
			b.Fatal(len(r.Lot.From), r.Lot.Past)
		}
	}
}

func BenchmarkPlanner(b *testing.B) {
	season, known := benchSeason(b)
	r := known.Forecast(season, civil.MustParse(testDay))
	safe := forecast.Range{Min: 4, Max: 10}
	for b.Loop() {
		p, err := forecast.Plan(forecast.PlanFrom(season, &r, r.SwimUp.P50.AddDays(-8), safe, safe, 1))
		if err != nil || !p.Reachable {
			b.Fatal(err)
		}
	}
}
