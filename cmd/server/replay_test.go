package main

import (
	"bytes"
	"context"
	"io"
	"strings"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

func TestReplayCommand(t *testing.T) {
	dir, season := importData(t, "2026-01-05")
	db, err := store.Open(t.Context(), dir, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	keeper := logbook.Actor{Role: logbook.Coordinator, Label: "Test"}
	for n := range 20 {
		dead := 0
		if n > 16 {
			dead = 4 * (n - 16)
		}
		_, err := db.SaveCheck(t.Context(), keeper,
			logbook.Check{SeasonID: season, On: civil.MustParse("2026-01-06").AddDays(n), Slot: logbook.Morning,
				Temperature: units.Some[units.Celsius](7), DeadEggs: units.Some(dead)}, time.Now(), store.Write{})
		if err != nil {
			t.Fatal(err)
		}
	}
	s, err := db.LoadSeason(t.Context(), season)
	if err != nil {
		t.Fatal(err)
	}
	s.ClosedOn = civil.MustParse("2026-01-26")
	if _, err := db.UpdateSeason(t.Context(), keeper, *s, time.Now()); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	replayed := func(args ...string) string {
		t.Helper()
		var out bytes.Buffer
		if err := run(context.Background(), append([]string{"replay", "-data", dir}, args...), &out,
			io.Discard); err != nil {
			t.Fatal(err)
		}
		return out.String()
	}
	// 5 to 25 January; the season is over on the day it closes.
	for _, want := range []string{"1 seasons, 21 days with fish", "dead_count", "a season: "} {
		if got := replayed("-closed"); !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
	if got := replayed("-season", string(season)); !strings.Contains(got, "January") || !strings.Contains(got, "Act") {
		t.Errorf("no flags by their days in\n%s", got)
	}
	if got := replayed("-set", "dead_min=40", "-set", "dead_share=90"); !strings.Contains(got,
		"With the changed limit") ||
		!strings.Contains(got, "1 flag that would no longer be raised") {
		t.Errorf("no difference in\n%s", got)
	}
	for _, bad := range [][]string{{"-set", "nothing=3"}, {"-season", "nowhere"}, {"-set", "dead_min=9000"}, {"word"}} {
		if err := run(context.Background(), append([]string{"replay", "-data", dir}, bad...), io.Discard,
			io.Discard); err == nil {
			t.Errorf("%v was taken", bad)
		}
	}
}
