package store

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"strings"
)

// guarded is a table whose rows are never changed in silence: a change needs the
// next revision, the old form goes to the history, and nothing is deleted. Its
// triggers are made from its columns, so that a column added by a migration is
// in the history as well.
type guarded struct {
	table    string
	owner    string // column of what a row belongs to, which never changes
	fixed    string // further columns that never change
	settings bool   // rows that are edited without a reason, as sites and tanks are
	counter  string // column of the revision, "" for revision
	season   string // column with the number of the season, "" for rows above seasons
	open     bool   // rows may come with any revision
	unless   string // a further condition under which a change is refused
}

var guardedTables = []guarded{
	{table: "delivery", owner: "season_num", season: "season_num"},
	{table: "checks", owner: "season_num", season: "season_num"},
	{table: "event", owner: "season_num", season: "season_num"},
	{table: "sample", owner: "season_num", season: "season_num"},
	{table: "plan", owner: "season_num", season: "season_num"},
	{table: "guess", owner: "season_num", season: "season_num"},
	{table: "note", owner: "season_num", season: "season_num"},
	{table: "release_record", owner: "season_num", fixed: "event_id", season: "season_num"},
	// A picture goes only when it is taken back.
	{table: "photo", owner: "season_num", season: "season_num",
		unless: "(NEW.voided = 0 AND NEW.jpeg IS NOT OLD.jpeg)"},
	{table: "closed_span", owner: "site_id"},
	{table: "permit"},
	{table: "release_place"},
	{table: "kit", owner: "site_id"},
	{table: "duty", owner: "site_id"},
	{table: "cover", owner: "site_id"},
	{table: "threshold", owner: "key", open: true},
	{table: "programme", settings: true},
	{table: "site", settings: true},
	{table: "tank", owner: "site_id", settings: true},
	{table: "lot", settings: true, counter: "edits"},
	{table: "season", owner: "tank_id", fixed: "lot_id", settings: true, counter: "edits", season: "num"},
}

// triggers returns the triggers of g by name, for a table with these columns.
func (g guarded) triggers(cols []column) map[string]string {
	t, counter := g.table, cmp.Or(g.counter, "revision")
	wanted := "NEW." + counter + " IS NOT OLD." + counter + " + 1"
	fixed := []string{"id", g.owner, g.fixed}
	on, said := t, "the next "+counter
	reason, role, label := "NEW.reason", "NEW.changed_role", "NEW.changed_label"
	if g.settings {
		// Counting a row's revision up for its relatives is no edit.
		var edited []string
		for _, c := range cols {
			if c.name != "num" && c.name != "revision" && c.name != "edits" {
				edited = append(edited, c.name)
			}
		}
		on = "OF " + strings.Join(edited, ", ") + " ON " + t
		reason, role, label = "''", "NEW.by_role", "NEW.by_label"
	} else {
		wanted += " OR trim(NEW.reason) = ''"
		fixed = append(fixed, "received_at", "by_role", "by_label")
		on, said = "ON "+t, said+" and a reason"
	}
	for _, c := range fixed {
		if c != "" {
			wanted += " OR NEW." + c + " IS NOT OLD." + c
		}
	}
	if g.unless != "" {
		wanted += " OR " + g.unless
	}
	refuse := func(why string) string { return "\nBEGIN\n    SELECT RAISE(ABORT, '" + t + ": " + why + "');\nEND" }
	out := map[string]string{
		t + "_guard": "CREATE TRIGGER " + t + "_guard BEFORE UPDATE " + on + "\nWHEN " + wanted +
			refuse("a change needs "+said),
		t + "_keep": "CREATE TRIGGER " + t + "_keep BEFORE DELETE ON " + t + refuse("rows are never deleted"),
	}
	if !g.settings && !g.open {
		out[t+"_new"] = "CREATE TRIGGER " + t + "_new BEFORE INSERT ON " + t +
			"\nWHEN NEW.revision <> 1 OR EXISTS (SELECT 1 FROM " +
			t + " WHERE id = NEW.id)" + refuse("a row is stored once, as revision 1")
	}
	after, season := "ON "+t, "NULL"
	if g.settings {
		after = "OF " + counter + " ON " + t
	}
	if g.season != "" {
		season = "OLD." + g.season
	}
	var old []string
	for _, c := range cols {
		if c.kind != "BLOB" && (c.name != "num" || !g.settings) {
			old = append(old, "'"+c.name+"', OLD."+c.name)
		}
	}
	out[t+"_history"] = "CREATE TRIGGER " + t + "_history AFTER UPDATE " + after + `
BEGIN
    INSERT INTO history (table_name, row_id, season_num, revision, row_json, reason, by_role, by_label, at)
    VALUES ('` + t + "', OLD.id, " + season + ", OLD." + counter + ",\n        json_object(" + strings.Join(old, ", ") + "),\n        " +
		strings.Join([]string{reason, role, label, "NEW.changed_at"}, ", ") + ");\nEND"
	return out
}

// setGuards brings the triggers of the guarded tables up to date with their
// columns. A program that is stopped between a migration and this does it at its
// next start, before anything is written.
func (d *DB) setGuards(ctx context.Context) error {
	// Deferred: a start that changes nothing waits for no other writer.
	return inTx(ctx, d.writer, "BEGIN", func(c *conn) error {
		have := map[string]string{}
		if err := c.each(ctx, func(r row) error { have[r.text(0)] = r.text(1); return nil },
			"SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'"); err != nil {
			return err
		}
		for _, g := range guardedTables {
			var cols []column
			if err := c.each(ctx, func(r row) error {
				cols = append(cols, column{name: r.text(0), kind: r.text(1)})
				return nil
			}, "SELECT name, type FROM pragma_table_info(?) ORDER BY cid", g.table); err != nil {
				return err
			}
			want := g.triggers(cols)
			for _, name := range slices.Sorted(maps.Keys(want)) {
				if have[name] == want[name] {
					continue
				}
				if _, err := c.exec(ctx, "DROP TRIGGER IF EXISTS "+name); err != nil {
					return err
				}
				if _, err := c.exec(ctx, want[name]); err != nil {
					return err
				}
			}
		}
		return nil
	})
}
