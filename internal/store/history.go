package store

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"reddside/internal/logbook"
)

// Past is the old form of a row, kept when it was corrected or taken back.
type Past struct {
	Table    string // delivery, checks, event, season, closed_span, ...
	RowID    logbook.ID
	Revision int64           // of the old form
	Row      json.RawMessage // by column
	Reason   string          // why it was replaced
	By       logbook.Role    // who replaced it
	ByLabel  string
	At       time.Time
}

// History lists the old forms of all rows of a season, oldest first.
func (d *DB) History(ctx context.Context, season logbook.ID) ([]Past, error) {
	return d.past(ctx, "season_num = (SELECT num FROM season WHERE id = ?)", season)
}

// HistoryAbove lists the old forms of rows above seasons, oldest first: of a site,
// its tanks, kits, duty list and closed days, or of everything when site is "".
func (d *DB) HistoryAbove(ctx context.Context, site logbook.ID) ([]Past, error) {
	return d.past(ctx, "season_num IS NULL AND (?1 = '' OR row_id = ?1 OR json_extract(row_json, '$.site_id') = ?1)",
		site)
}

// RowHistory lists the old forms of one row, oldest first.
func (d *DB) RowHistory(ctx context.Context, id logbook.ID) ([]Past, error) {
	return d.past(ctx, "row_id = ?", id)
}

// RowHistoryBefore lists at most n old forms of one row that came before revision
// before (0: all), newest first.
func (d *DB) RowHistoryBefore(ctx context.Context, id logbook.ID, before int64, n int) ([]Past, error) {
	out, err := d.past(ctx, `num IN (SELECT num FROM history WHERE row_id = ?1 AND (?2 = 0 OR revision < ?2)
		ORDER BY revision DESC LIMIT ?3)`, id, before, n)
	slices.Reverse(out)
	return out, err
}

func (d *DB) past(ctx context.Context, where string, args ...any) ([]Past, error) {
	var out []Past
	err := d.read(ctx, "read history", func(c *conn) error {
		return c.each(ctx, func(r row) error {
			out = append(out, Past{Table: r.text(0), RowID: logbook.ID(r.text(1)), Revision: r.int(2),
				Row:    json.RawMessage(r.text(3)),
				Reason: r.text(4), By: logbook.Role(r.text(5)), ByLabel: r.text(6), At: r.at(7)})
			return nil
		}, "SELECT table_name, row_id, revision, row_json, reason, by_role, by_label, at FROM history WHERE "+where+
			" ORDER BY num", args...)
	})
	return out, err
}

// Check returns the old form of a check.
func (p Past) Check() (logbook.Check, error) { return old(p, &checkTable) }

// Event returns the old form of an event.
func (p Past) Event() (logbook.Event, error) { return old(p, &eventTable) }

// Sample returns the old form of a sample.
func (p Past) Sample() (logbook.Sample, error) { return old(p, &sampleTable) }

// Delivery returns the old form of a delivery.
func (p Past) Delivery() (logbook.Delivery, error) { return old(p, &deliveryTable) }

// old reads the row of table t from its history.
func old[T any](p Past, t *entryTable[T]) (v T, err error) {
	if p.Table != t.name {
		return v, fmt.Errorf("history of %s is no row of %s", p.Table, t.name)
	}
	dec := json.NewDecoder(strings.NewReader(string(p.Row)))
	dec.UseNumber() // SQLite writes reals with a point or an exponent, integers without
	var byName map[string]any
	if err := dec.Decode(&byName); err != nil {
		return v, fmt.Errorf("history of %s: %w", t.name, err)
	}
	cols := slices.Concat(t.cols, strings.Split(entryCols, ", "))
	r := make(row, len(cols))
	for i, name := range cols {
		switch x := byName[name].(type) {
		case string:
			r[i] = x
		case json.Number:
			if n, err := x.Int64(); err == nil {
				r[i] = n
			} else if f, err := x.Float64(); err == nil {
				r[i] = f
			}
		}
	}
	return t.read(r), nil
}
