package web

import (
	"context"
	"reflect"
	"testing"
	"time"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
)

// What is kept of the other tanks is what a fresh look at them gives, after every
// kind of write and on another day.
func TestKeptEvidenceIsFresh(t *testing.T) {
	ts, ctx := newTestServer(t), context.Background()
	now := testNow
	var last []forecast.Observation
	same := func(what string, changed bool) {
		t.Helper()
		season := ts.load(ts.one)
		got, err := ts.Assess.Evidence(ctx, season, now)
		ts.must(err)
		want, err := ts.Assess.EvidenceOn(ctx, season,
			func(other *logbook.Season) civil.Date { return ts.Assess.Today(other.Site, now) })
		ts.must(err)
		seen := func(e assess.Evidence) map[logbook.ID][]forecast.Observation {
			out := map[logbook.ID][]forecast.Observation{}
			for _, o := range e.Siblings {
				out[o.Season] = append(out[o.Season], o)
			}
			return out
		}
		if !reflect.DeepEqual(seen(got), seen(want)) || len(got.Siblings) != len(want.Siblings) {
			t.Errorf("%s: kept %+v, fresh %+v", what, got.Siblings, want.Siblings)
		}
		if changed == reflect.DeepEqual(got.Siblings, last) {
			t.Errorf("%s: changed %v", what, !changed)
		}
		last = got.Siblings
	}
	same("at first", false)
	ts.look(ts.two, "2026-02-09", func(c *logbook.Check) { c.Hatched = logbook.HatchedNone })
	same("a look at another tank", true)
	same("again", false)
	ts.look(ts.one, "2026-02-09", func(c *logbook.Check) { c.Hatched = logbook.HatchedFew })
	same("a look at the tank itself", false)
	ts.look(ts.far, "2026-02-08", func(c *logbook.Check) { c.Hatched = logbook.HatchedHalf })
	same("a hatch at another school", true)
	tank := ts.tank2
	tank.Name = "Window tank"
	_, err := ts.DB.UpdateTank(ctx, ts.coordinator, tank, now)
	ts.must(err)
	same("another name of the tank", true)
	lot := ts.load(ts.one).Lot
	lot.FertilisedOn = lot.FertilisedOn.AddDays(-9)
	_, err = ts.DB.UpdateLot(ctx, ts.coordinator, lot, now)
	ts.must(err)
	same("another day of fertilisation", true)
	now = now.Add(48 * time.Hour)
	same("two days later", false)
}
