package store

import (
	"slices"
	"strings"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

func keys(list []Finding) (out []string) {
	for _, f := range list {
		out = append(out, f.Key)
	}
	return out
}

// TestVerify breaks each invariant with the guards taken off, and expects the
// finding by its name.
func TestVerify(t *testing.T) {
	for _, c := range []struct {
		name string
		sql  []string
		want string
	}{
		{"sound", nil, ""},
		{"history gone", []string{"DROP TRIGGER history_keep", "DELETE FROM history WHERE table_name = 'checks'"},
			"verify.history"},
		{"silent change", []string{"DROP TRIGGER event_guard", "DROP TRIGGER event_history",
			"UPDATE event SET revision = 2"}, "verify.history"},
		{"second check in a slot", []string{"DROP INDEX checks_slot", "CREATE TEMP TABLE twin AS SELECT * FROM checks",
			"UPDATE twin SET id = substr(id, 2) || 'a', revision = 1, reason = '', voided = 0",
			"INSERT INTO checks SELECT * FROM twin"}, "verify.slot"},
		{"check before delivery", []string{"UPDATE delivery SET on_date = '2026-01-25', revision = 2, reason = 'x'"},
			""},
		{"check after closing", []string{"UPDATE season SET closed_on = '2026-01-12', edits = edits + 1"}, ""},
		{"odd id", []string{"PRAGMA foreign_keys = 0", "DROP TRIGGER lot_guard", "DROP TRIGGER season_guard",
			"UPDATE lot SET id = upper(id)", "UPDATE season SET lot_id = upper(lot_id)"}, "verify.id"},
		{"reference without a row", []string{"PRAGMA foreign_keys = 0", "DROP TRIGGER history_guard",
			"UPDATE history SET season_num = 99"}, "verify.file"},
		{"flag without history", []string{"DROP TRIGGER flag_history_keep", "DELETE FROM flag_history"}, "verify.flag"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, ctx := plant(t), t.Context()
			saved, err := p.SaveCheck(ctx, coordinator, p.check(day), noon, Write{After: raiseForEach})
			if err != nil {
				t.Fatal(err)
			}
			fix := p.check(day)
			fix.Note = "better"
			if _, err := p.CorrectCheck(ctx, coordinator, saved.Row.ID, 1, fix, "misread", noon, nil); err != nil {
				t.Fatal(err)
			}
			if _, err := p.CreateEvent(ctx, coordinator, logbook.Event{SeasonID: p.season.ID, Kind: logbook.Released,
				On: day, Count: units.Some(5)}, noon, Write{}); err != nil {
				t.Fatal(err)
			}
			for _, q := range c.sql {
				if err := p.raw(t, q); err != nil {
					t.Fatalf("%s: %v", q, err)
				}
			}
			rep, err := p.Verify(ctx, noon)
			if err != nil {
				t.Fatal(err)
			}
			if odd := strings.HasPrefix(c.name, "check "); odd != slices.Contains(keys(rep.Warnings),
				"verify.check_outside") {
				t.Errorf("warnings %v", rep.Warnings)
			}
			if got := keys(rep.Problems); (c.want == "" && len(got) > 0) ||
				(c.want != "" && !slices.Contains(got, c.want)) {
				t.Errorf("problems %v, want %q", rep.Problems, c.want)
			}
			if c.sql == nil && (rep.Seasons != 1 || rep.Checks != 1) {
				t.Errorf("report %+v", rep)
			}
		})
	}
}

func TestVerifyWarns(t *testing.T) {
	p, ctx := plant(t), t.Context()
	if _, err := p.CreateEvent(ctx, coordinator, logbook.Event{SeasonID: p.season.ID, Kind: logbook.Counted, On: day,
		Count: units.Some(190)}, noon, Write{}); err != nil {
		t.Fatal(err)
	}
	if _, err := p.CreateEvent(ctx, coordinator, logbook.Event{SeasonID: p.season.ID, Kind: logbook.FilterRinse,
		On: civil.MustParse("2026-01-01")}, noon, Write{}); err != nil {
		t.Fatal(err)
	}
	rep, err := p.Verify(ctx, noon.Add(-time.Hour))
	want := []string{"verify.unexplained", "verify.event_outside", "verify.clock"}
	if got := keys(rep.Warnings); err != nil || !rep.OK() || !slices.Equal(got, want) {
		t.Errorf("warnings %v, want %v; problems %v, %v", got, want, rep.Problems, err)
	}
	if last, err := p.LastWrite(ctx); err != nil || !last.Equal(noon) {
		t.Errorf("last entry %v, %v", last, err)
	}
	later := noon.Add(time.Hour)
	if _, err := p.CreateNote(ctx, coordinator, logbook.Note{SeasonID: p.season.ID, Body: "All well?"}, later,
		IdempotencyKey{}); err != nil {
		t.Fatal(err)
	}
	if last, err := p.LastWrite(ctx); err != nil || !last.Equal(later) {
		t.Errorf("last entry after a note %v, %v", last, err)
	}
}
