package store

import (
	"strings"
	"testing"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// raw runs SQL on the writer, as a careless program would.
func (p *planted) raw(t *testing.T, query string, args ...any) error {
	t.Helper()
	_, err := p.writer.ExecContext(t.Context(), query, args...)
	return err
}

// TestNothingChangesSilently: requirement Q2, tried with plain SQL.
func TestNothingChangesSilently(t *testing.T) {
	p, ctx := plant(t), t.Context()
	saved, err := p.SaveCheck(ctx, coordinator, p.check(day), noon, Write{After: raiseForEach})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.CreateEvent(ctx, coordinator, logbook.Event{SeasonID: p.season.ID, Kind: logbook.FilterRinse,
		On: day}, noon, Write{}); err != nil {
		t.Fatal(err)
	}
	if _, err := p.SaveReadings(ctx, coordinator, Import{SeasonID: p.season.ID, FileSHA256: HashToken("x")},
		[]logbook.Reading{{On: day, Temperature: 5, Quality: logbook.Good}}, noon, nil); err != nil {
		t.Fatal(err)
	}
	if _, err := p.CorrectCheck(ctx, coordinator, saved.Row.ID, 1,
		func() logbook.Check { c := p.check(day); c.Note = "x"; return c }(), "misread", noon, nil); err != nil {
		t.Fatal(err)
	}
	released, err := p.CreateEvent(ctx, coordinator, logbook.Event{SeasonID: p.season.ID, Kind: logbook.Released,
		On: day, Count: units.Some(1)}, noon, Write{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.CreateRelease(ctx, coordinator, logbook.ReleaseRecord{SeasonID: p.season.ID,
		EventID: released.Row.ID}, noon, Write{}); err != nil {
		t.Fatal(err)
	}
	if _, err := p.CreatePhoto(ctx, coordinator, logbook.Photo{SeasonID: p.season.ID, On: day, Alt: "fry"}, []byte{1},
		noon); err != nil {
		t.Fatal(err)
	}
	if _, err := p.SetKit(ctx, coordinator, logbook.Kit{SiteID: p.site.ID, Name: "drops", Basis: "N"}, "",
		noon); err != nil {
		t.Fatal(err)
	}
	if err := p.SaveBoardView(ctx, coordinator, BoardView{Name: "act", Query: "status=act"}, noon); err != nil {
		t.Fatal(err)
	}
	flags, err := p.Flags(ctx, p.season.ID, true)
	if err != nil || len(flags) == 0 {
		t.Fatalf("flags %v, %v", flags, err)
	}
	if _, err := p.SetFinding(ctx, coordinator, FlagFinding{FlagID: flags[0].ID, What: FoundReal}, noon); err != nil {
		t.Fatal(err)
	}
	refused := []string{
		"UPDATE site SET weekends = 'left_alone'",
		"UPDATE kit SET basis = 'NH3'",
		"DELETE FROM kit",
		"INSERT OR REPLACE INTO kit SELECT * FROM kit",
		"INSERT OR REPLACE INTO kit SELECT id, site_id, 'other', basis, step_mg_l, received_at, by_role, by_label, 2, reason, changed_at, changed_role, changed_label FROM kit",
		"UPDATE board_view SET name = 'other'",
		"UPDATE board_view SET query = '', removed_at = 1",
		"DELETE FROM board_view",
		"UPDATE flag_finding SET finding = 'nothing'",
		"DELETE FROM flag_finding",
		"INSERT OR REPLACE INTO flag_finding SELECT * FROM flag_finding",
		"UPDATE release_record SET stream_c = 9",
		"UPDATE release_record SET event_id = '', revision = revision + 1, reason = 'why'",
		"UPDATE release_record SET latitude = 91, revision = revision + 1, reason = 'why'",
		"DELETE FROM release_record",
		"INSERT OR REPLACE INTO release_record SELECT * FROM release_record",
		"UPDATE photo SET alt = 'x'",
		"UPDATE photo SET jpeg = x'02', revision = revision + 1, reason = 'why'",
		"UPDATE photo SET voided = 1, revision = revision + 1, reason = 'why'", // without emptying it
		"DELETE FROM photo",
		"UPDATE checks SET temperature_c = 9",
		"UPDATE checks SET temperature_c = 9, revision = revision + 1, reason = ' '",
		"UPDATE checks SET temperature_c = 9, revision = revision + 2, reason = 'why'",
		"UPDATE checks SET temperature_c = 9, reason = 'why'",
		"UPDATE checks SET by_label = 'other', revision = revision + 1, reason = 'why'",
		"UPDATE checks SET received_at = 0, revision = revision + 1, reason = 'why'",
		"UPDATE checks SET voided = 1",
		"DELETE FROM checks",
		"INSERT OR REPLACE INTO checks SELECT * FROM checks",
		"UPDATE delivery SET egg_count = 1000",
		"DELETE FROM delivery",
		"UPDATE event SET on_date = '2026-01-21'",
		"DELETE FROM event",
		"UPDATE reading SET temperature_c = 1",
		"DELETE FROM reading",
		"DELETE FROM import",
		"UPDATE history SET row_json = '{}'",
		"DELETE FROM history",
		"DELETE FROM flag",
		"UPDATE flag SET rule = 'other'",
		"DELETE FROM flag_history",
		"DELETE FROM season",
		"UPDATE season SET label = 'other'",
		"UPDATE site SET zone = 'UTC'",
		"UPDATE lot SET fertilised_on = '2025-01-01'",
		"UPDATE tank SET setpoint_c = 1",
		"UPDATE programme SET name = 'x'",
		// Dates that are none, and words for numbers.
		"INSERT INTO closed_span SELECT 'aaaaaaaaaaaaaaaaaaaaaaaaaa', id, '2025-02-29', '2025-03-01', '', 0, '', '', 1, '', 0, 0, '', '' FROM site",
		"INSERT INTO closed_span SELECT 'aaaaaaaaaaaaaaaaaaaaaaaaaa', id, '2025-1-5', '2025-03-01', '', 0, '', '', 1, '', 0, 0, '', '' FROM site",
		"UPDATE checks SET temperature_c = 'warm', revision = revision + 1, reason = 'why'",
		`SELECT "no such column"`,
	}
	for _, q := range refused {
		if err := p.raw(t, q); err == nil {
			t.Errorf("accepted: %s", q)
		}
	}
	if err := p.raw(t, "UPDATE checks SET temperature_c = 9, revision = revision + 1, reason = 'misread', changed_label = 'Keeper'"); err != nil {
		t.Errorf("an honest correction was refused: %v", err)
	}
	past, err := p.RowHistory(ctx, saved.Row.ID)
	if err != nil || len(past) != 2 {
		t.Fatalf("history has %d rows, %v", len(past), err)
	}
	if past[1].ByLabel != "Keeper" || past[1].Reason != "misread" || past[1].Revision != 2 {
		t.Errorf("history row %+v", past[1])
	}
	old, err := past[0].Check()
	if err != nil {
		t.Fatal(err)
	}
	old.SeasonID = p.season.ID
	if !sameRow(&checkTable, old, saved.Row) || old.Entry != saved.Row.Entry {
		t.Errorf("old form %+v\nfirst stored %+v", old, saved.Row)
	}
}

func TestMergedRowKeepsItsID(t *testing.T) {
	p, ctx := plant(t), t.Context()
	c := p.check(day)
	c.ID = logbook.NewID()
	saved, err := p.SaveCheck(ctx, coordinator, c, noon, Write{})
	if err != nil || saved.Row.ID != c.ID {
		t.Fatalf("id %s became %s, %v", c.ID, saved.Row.ID, err)
	}
	if again, err := p.SaveCheck(ctx, coordinator, c, noon, Write{}); err != nil || !again.Repeated {
		t.Errorf("the same row again: %+v, %v", again, err)
	}
	c.On, c.DeadFry = c.On.AddDays(1), units.Some(7)
	_, err = p.SaveCheck(ctx, coordinator, c, noon, Write{})
	wantKey(t, err, logbook.Conflict, "error.conflict")
	c.ID = logbook.ID(strings.Repeat("A", 26))
	_, err = p.SaveCheck(ctx, coordinator, c, noon, Write{})
	wantKey(t, err, logbook.Invalid, "error.id")
}
