package store

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// Everything in these tests is invented.
var (
	coordinator = logbook.Actor{AccountID: "a1", Role: logbook.Coordinator, Label: "Coordinator"}
	noon        = time.Date(2026, 1, 20, 12, 0, 0, 0, time.UTC)
	day         = civil.MustParse("2026-01-20")
)

func open(t testing.TB, dir string) *DB {
	t.Helper()
	d, err := Open(t.Context(), dir, Options{Now: noon})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = d.Close() })
	return d
}

// planted is a logbook with one season.
type planted struct {
	*DB
	site   logbook.Site
	tank   logbook.Tank
	lot    logbook.Lot
	season *logbook.Season
}

func plant(t testing.TB) planted {
	t.Helper()
	return plantIn(t, filepath.Join(t.TempDir(), "data folder #1 é?"))
}

func plantIn(t testing.TB, dir string) planted {
	t.Helper()
	ctx := t.Context()
	p := planted{DB: open(t, dir)}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	_, err := p.CreateProgramme(ctx, coordinator, logbook.Programme{Name: "Test", Language: "en",
		TemperatureUnit: units.Cel}, noon)
	must(err)
	p.site, err = p.CreateSite(ctx, coordinator, logbook.Site{Name: "Aldermoss School", Zone: "America/Halifax",
		Altitude: units.Some[units.Metres](12), Language: "en", TemperatureUnit: units.Cel}, noon, IdempotencyKey{})
	must(err)
	p.tank, err = p.CreateTank(ctx, coordinator, logbook.Tank{SiteID: p.site.ID, Name: "Tank 1", Volume: 200,
		Wall:     logbook.Insulated,
		Setpoint: units.Some[units.Celsius](7), HasChiller: true, HasFilter: true, HasBasket: true}, noon,
		IdempotencyKey{})
	must(err)
	p.lot, err = p.CreateLot(ctx, coordinator, logbook.Lot{Code: "L1", Species: logbook.AtlanticSalmon,
		Supplier:     "Test hatchery",
		FertilisedOn: civil.MustParse("2025-11-01")}, noon, IdempotencyKey{})
	must(err)
	p.season, err = p.CreateSeason(ctx, coordinator, logbook.Season{Label: "2025-26", Tank: p.tank, Lot: p.lot}, noon,
		IdempotencyKey{})
	must(err)
	_, err = p.CreateDelivery(ctx, coordinator, logbook.Delivery{SeasonID: p.season.ID,
		On: civil.MustParse("2026-01-10"), Count: 200,
		Method: logbook.ByHand, ThermalUnits: units.Some[units.ThermalUnits](310), Stage: logbook.EyedEgg}, noon,
		Write{})
	must(err)
	p.reload(t)
	return p
}

func (p *planted) reload(t testing.TB) {
	t.Helper()
	var err error
	if p.season, err = p.LoadSeason(t.Context(), p.season.ID); err != nil {
		t.Fatal(err)
	}
}

// check is a morning check with something in every column.
func (p *planted) check(on civil.Date) logbook.Check {
	return logbook.Check{SeasonID: p.season.ID, On: on, Slot: logbook.Morning, Time: "08:10",
		Temperature: units.Some[units.Celsius](7.5), TemperatureEntered: "45,5", TemperatureUnit: units.DegF,
		Chiller: logbook.Running, Filter: logbook.NotChecked, AirPump: logbook.NotFitted,
		DeadEggs: units.Some(0), DeadFry: units.Some(2), Stage: logbook.EyedEgg, Hatched: logbook.HatchedNone,
		Water:  logbook.WaterClear,
		Fungus: logbook.NotSeen, PH: units.Some(7.1), TAN: units.Some[units.MgPerL](0),
		Nitrate: units.Some[units.MgPerL](3),
		Oxygen:  units.Some[units.MgPerL](11), Fed: units.Some[units.Grams](0.5), Note: "a note", Observer: "Group 3",
		Confirmed: []string{"temperature", "ph"}}
}

func wantKey(t *testing.T, err error, kind logbook.Kind, key string) {
	t.Helper()
	var e *logbook.Error
	if !errors.As(err, &e) || e.Kind != kind || e.Key != key {
		t.Fatalf("error = %v, want kind %d and key %s", err, kind, key)
	}
}

func TestCreateAndLoad(t *testing.T) {
	p, ctx := plant(t), context.Background()
	saved, err := p.SaveCheck(ctx, coordinator, p.check(day), noon, Write{})
	if err != nil {
		t.Fatal(err)
	}
	extra := p.check(day)
	extra.Slot = "extra_2"
	if _, err := p.SaveCheck(ctx, coordinator, extra, noon, Write{}); err != nil {
		t.Fatal(err)
	}
	if _, err := p.CreateEvent(ctx, coordinator, logbook.Event{SeasonID: p.season.ID, Kind: logbook.WaterChange,
		On:     day,
		Litres: units.Some[units.Litres](40)}, noon, Write{}); err != nil {
		t.Fatal(err)
	}
	if _, err := p.CreateClosedSpan(ctx, coordinator, p.site.ID, logbook.ClosedSpan{From: day, To: day.AddDays(1),
		Reason: "storm"}, noon, IdempotencyKey{}); err != nil {
		t.Fatal(err)
	}
	before := p.season.Revision
	p.reload(t)
	s := p.season
	if len(s.Checks) != 2 || len(s.Events) != 1 || len(s.Deliveries) != 1 || len(s.ClosedDays) != 1 {
		t.Fatalf("loaded %d checks, %d events, %d deliveries, %d closed spans", len(s.Checks), len(s.Events),
			len(s.Deliveries), len(s.ClosedDays))
	}
	if !sameRow(&checkTable, s.Checks[0], p.check(day)) || s.Checks[0].ID != saved.Row.ID ||
		s.Checks[0].Entry != saved.Row.Entry {
		t.Errorf("loaded check %+v, saved %+v", s.Checks[0], saved.Row)
	}
	if s.Checks[1].Slot != "extra_2" {
		t.Errorf("second slot is %s", s.Checks[1].Slot)
	}
	if s.Tank != p.tank || s.Site != p.site {
		t.Errorf("tank %+v site %+v", s.Tank, s.Site)
	}
	if s.Lot.FertilisedOn != p.lot.FertilisedOn || s.Lot.Revision <= p.lot.Revision || s.Revision != before+4 {
		t.Errorf("lot %+v, season revision %d after %d", s.Lot, s.Revision, before)
	}
}

// sameRow compares what two rows say, with every field of the type: a field that the
// table of fields forgets is a difference.
func sameRow[T any](t *entryTable[T], a, b T) bool {
	for _, v := range []*T{&a, &b} {
		*t.id(v), *t.meta(v) = "", logbook.Entry{}
	}
	return t.same(&a, &b) && fmt.Sprintf("%+v", a) == fmt.Sprintf("%+v", b)
}
