package demo

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// nows are an ordinary morning, the turn of the year (31 December still in the
// west), the day on which clocks go forward, and the Monday after they go back.
func nows() []time.Time {
	return []time.Time{
		time.Date(2026, 2, 10, 13, 0, 0, 0, time.UTC),
		time.Date(2026, 1, 1, 4, 30, 0, 0, time.UTC),
		time.Date(2026, 3, 8, 17, 0, 0, 0, time.UTC),
		time.Date(2026, 11, 2, 14, 30, 0, 0, time.UTC),
	}
}

func openStore(t testing.TB) *store.DB {
	t.Helper()
	db, err := store.Open(context.Background(), t.TempDir(), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	return db
}

func filled(t testing.TB, now time.Time) *store.DB {
	t.Helper()
	db := openStore(t)
	if err := Fill(context.Background(), db, now); err != nil {
		t.Fatal(err)
	}
	return db
}

// load returns every season of the logbook, by site, tank and start.
func load(t *testing.T, db *store.DB) []*logbook.Season {
	t.Helper()
	ctx := context.Background()
	heads, err := db.SeasonHeads(ctx, store.SeasonFilter{})
	if err != nil {
		t.Fatal(err)
	}
	var ids []logbook.ID
	for _, h := range heads {
		ids = append(ids, h.ID)
	}
	var out []*logbook.Season
	if err := db.LoadSeasons(ctx, ids, func(s *logbook.Season) error { out = append(out, s); return nil }); err != nil {
		t.Fatal(err)
	}
	slices.SortFunc(out, func(a, b *logbook.Season) int {
		key := func(s *logbook.Season) string { return s.Site.Name + "/" + s.Tank.Name + "/" + s.StartedOn().String() }
		return strings.Compare(key(a), key(b))
	})
	return out
}

func TestFill(t *testing.T) {
	for _, now := range nows() {
		t.Run(now.Format("2006-01-02"), func(t *testing.T) {
			ctx := context.Background()
			db := filled(t, now)
			rep, err := db.Verify(ctx, now)
			if err != nil || !rep.OK() {
				t.Fatalf("verify: %v, %+v", err, rep.Problems)
			}
			for _, f := range rep.Warnings {
				if f.Key != "verify.unexplained" || f.Args["Tank"] != "Greenhouse" {
					t.Errorf("warning %+v", f)
				}
			}
			if p, err := db.Programme(ctx); err != nil || !p.Invented {
				t.Errorf("programme %+v, %v", p, err)
			}
			seasons := load(t, db)
			distinctNames(t, seasons)
			open := 0
			for _, s := range seasons {
				today := civil.In(now, s.Site.Location())
				nobodyLookedAtWeekend(t, s, today)
				if len(s.ClosedDays) == 0 {
					t.Errorf("%s: no closed days", s.Site.Name)
				}
				if !s.ClosedOn.IsZero() {
					closed(t, s, today)
					continue
				}
				open++
				judge(t, s, today, now, siblings(s, seasons, now))
				enteredByNow(t, s, now)
			}
			if open != 12 || len(seasons) != 15 {
				t.Errorf("%d open seasons of %d", open, len(seasons))
			}
			correctionKept(t, db, seasons)
		})
	}
}

// siblings is what the other tanks of the lot have shown.
func siblings(s *logbook.Season, all []*logbook.Season, now time.Time) []forecast.Observation {
	var out []forecast.Observation
	for _, o := range all {
		if o.Lot.ID == s.Lot.ID && o.ID != s.ID {
			f := forecast.Compute(forecast.Input{Season: o, Today: civil.In(now, o.Site.Location())})
			out = append(out, f.Observations...)
		}
	}
	return out
}

func distinctNames(t *testing.T, seasons []*logbook.Season) {
	t.Helper()
	of := map[string]logbook.ID{}
	same := func(kind, name string, id logbook.ID) {
		name = strings.ToLower(name)
		if have, ok := of[name]; ok && have != id {
			t.Errorf("%s name %q is used twice", kind, name)
		}
		of[name] = id
	}
	sites, years := map[logbook.ID]bool{}, map[string]bool{}
	for _, s := range seasons {
		sites[s.Site.ID] = true
		same("site", s.Site.Name, s.Site.ID)
		same("tank", s.Tank.Name, s.Tank.ID)
		same("lot", s.Lot.Code, s.Lot.ID)
		if year := s.Tank.Name + " " + s.Label; years[year] {
			t.Errorf("two seasons %s", year)
		} else {
			years[year] = true
		}
	}
	if len(sites) != 6 {
		t.Errorf("%d sites with seasons", len(sites))
	}
}

func enteredByNow(t *testing.T, s *logbook.Season, now time.Time) {
	t.Helper()
	for i := range s.Checks {
		c := &s.Checks[i]
		if c.ReceivedAt.After(now) || c.ReceivedAt.Before(c.On.Start(s.Site.Location())) || c.ByLabel == "" {
			t.Errorf("%s: check of %s was entered at %s by %q", s.Tank.Name, c.On, c.ReceivedAt, c.ByLabel)
		}
		if c.Temperature.OK && s.Site.Name == "Copperfern School" && !strings.HasSuffix(c.TemperatureEntered, " F") {
			t.Errorf("%s: typed %q", s.Tank.Name, c.TemperatureEntered)
		}
	}
}

func correctionKept(t *testing.T, db *store.DB, seasons []*logbook.Season) {
	t.Helper()
	for _, s := range seasons {
		past, err := db.History(context.Background(), s.ID)
		if err != nil {
			t.Fatal(err)
		}
		corrected := 0
		for _, p := range past {
			if old, err := p.Check(); err == nil && old.Temperature.OK {
				corrected++
			}
		}
		if want := map[bool]int{true: 1, false: 0}[s.Tank.Name == "Room 21"]; corrected != want {
			t.Errorf("%s: %d older forms of checks, want %d", s.Tank.Name, corrected, want)
		}
	}
}

// The same now gives the same content, ids aside.
func TestDeterminism(t *testing.T) {
	content := func() string {
		var b strings.Builder
		for _, s := range load(t, filled(t, nows()[0])) {
			for i := range s.Deliveries {
				s.Deliveries[i].ID, s.Deliveries[i].SeasonID = "", ""
			}
			for i := range s.Checks {
				s.Checks[i].ID, s.Checks[i].SeasonID = "", ""
			}
			for i := range s.Events {
				s.Events[i].ID, s.Events[i].SeasonID = "", ""
			}
			for i := range s.Samples {
				s.Samples[i].ID, s.Samples[i].SeasonID = "", ""
			}
			for i := range s.ClosedDays {
				s.ClosedDays[i].ID = ""
			}
			for i := range s.Releases {
				s.Releases[i].ID, s.Releases[i].SeasonID, s.Releases[i].EventID = "", "", ""
			}
			s.ID, s.Site.ID, s.Tank.ID, s.Tank.SiteID, s.Lot.ID = "", "", "", "", ""
			fmt.Fprintf(&b, "%+v\n", *s)
		}
		return b.String()
	}
	a, b := strings.Split(content(), "\n"), strings.Split(content(), "\n")
	for i := range a {
		if a[i] != b[i] {
			t.Errorf("two logbooks of the same now differ:\n%s\n%s", a[i], b[i])
		}
	}
}

func TestFillRefusesASecondProgramme(t *testing.T) {
	db := filled(t, nows()[0])
	err := Fill(context.Background(), db, nows()[0])
	var e *logbook.Error
	if !errors.As(err, &e) || e.Key != "error.programme.exists" {
		t.Errorf("got %v", err)
	}
}

func BenchmarkFill(b *testing.B) {
	for b.Loop() {
		b.StopTimer()
		db := openStore(b)
		b.StartTimer()
		if err := Fill(context.Background(), db, nows()[0]); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkInvent(b *testing.B) {
	for b.Loop() {
		if _, err := invent(nows()[0]); err != nil {
			b.Fatal(err)
		}
	}
}
