package store

import (
	"strings"
	"testing"

	"reddside/internal/logbook"
)

// TestEveryRevisionIsGuarded: a table whose rows count their corrections has its
// triggers, but for accounts, whose passphrases have no place in a history.
func TestEveryRevisionIsGuarded(t *testing.T) {
	p := plant(t)
	counted, err := pragmaText(t.Context(), p.reader, `SELECT m.name FROM sqlite_schema m JOIN pragma_table_info(m.name) c
		WHERE m.type = 'table' AND c.name IN ('revision', 'edits') AND m.name NOT IN ('account', 'history', 'guided_draft') GROUP BY m.name`)
	if err != nil || len(counted) < len(guardedTables) {
		t.Fatal(counted, err)
	}
	for _, table := range counted {
		names, err := pragmaText(t.Context(), p.reader,
			"SELECT name FROM sqlite_schema WHERE type = 'trigger' AND tbl_name = '"+table+"'")
		if err != nil {
			t.Fatal(err)
		}
		for _, what := range []string{"_guard", "_keep", "_history"} {
			if !strings.Contains(" "+strings.Join(names, " ")+" ", " "+table+what+" ") {
				t.Errorf("%s has no %s", table, table+what)
			}
		}
	}
}

// TestAddedColumnIsInTheHistory: a migration that adds a column has no trigger to write.
func TestAddedColumnIsInTheHistory(t *testing.T) {
	dir := t.TempDir()
	p, ctx := plantIn(t, dir), t.Context()
	saved, err := p.SaveCheck(ctx, coordinator, p.check(day), noon, Write{})
	if err != nil {
		t.Fatal(err)
	}
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	more := steps(t, map[string]string{"00900_more.sql": "-- +goose Up\nALTER TABLE checks ADD COLUMN turbidity_ntu REAL DEFAULT 2.5;\n"})
	d, err := Open(ctx, dir, Options{Now: noon, Migrations: more})
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	c := p.check(day)
	c.Note = "read again"
	if _, err := d.CorrectCheck(ctx, coordinator, saved.Row.ID, 1, c, "misread", noon, nil); err != nil {
		t.Fatal(err)
	}
	past, err := d.RowHistory(ctx, saved.Row.ID)
	if err != nil || len(past) != 1 || !strings.Contains(string(past[0].Row), `"turbidity_ntu":2.5`) {
		t.Errorf("history %v, %v", past, err)
	}
}

// TestLayoutBeforeTheFirstIsRefused: nothing is changed, and the words say how to go on.
func TestLayoutBeforeTheFirstIsRefused(t *testing.T) {
	dir := t.TempDir()
	p := plantIn(t, dir)
	if err := p.raw(t, "DELETE FROM goose_db_version WHERE version_id > 3"); err != nil {
		t.Fatal(err)
	}
	if err := p.Close(); err != nil {
		t.Fatal(err)
	}
	_, err := Open(t.Context(), dir, Options{Now: noon})
	wantKey(t, err, logbook.Unavailable, "error.schema.early")
}
