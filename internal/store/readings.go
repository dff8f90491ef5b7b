package store

import (
	"context"
	"database/sql/driver"
	"encoding/json"
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// Refused is a row of a file that was not stored, and why.
type Refused struct {
	Line int            `json:"line"`
	Key  string         `json:"key"`
	Args map[string]any `json:"args,omitempty"`
	Text string         `json:"text,omitempty"` // the row as it stands in the file
}

// Import is one file of readings and what became of it.
type Import struct {
	ID, SeasonID logbook.ID
	FileSHA256   string // hex
	FileName     string
	Series       string // tells sensors of one tank apart; empty for the only one
	Dialect      string // what was detected
	Refused      []Refused

	Added int // rows stored now
	Known int // rows that were there already
	Other int // rows that another file has with another temperature; both are kept

	ReceivedAt time.Time
	By         logbook.Role
	ByLabel    string
	Changes    []FlagChange

	Voided *ImportVoid // nil while the file counts
}

// ImportVoid says who took a file back, when and why.
type ImportVoid struct {
	Reason  string
	At      time.Time
	By      logbook.Role
	ByLabel string
}

// SaveReadings stores the readings of a file, all or none to whoever reads. The
// same instant (or the same day, for daily means) of the same series is stored
// once, so the same file again changes nothing; then the returned ID is empty.
// Another temperature of another file is kept beside it: logbook.Reading tells the
// files apart. A file that was taken back counts for nothing.
//
// Files are stored one at a time: error.importing (Unavailable) while another
// process stores one. A file of more than partRows readings is stored in parts. Its flags follow in a step of
// their own.
func (d *DB) SaveReadings(ctx context.Context, actor logbook.Actor, in Import, list []logbook.Reading, now time.Time,
	after After) (Import, error) {
	in.ID = ""
	if d.writer == nil {
		return in, logbook.Errorf(logbook.Unavailable, "error.read_only", nil)
	}
	Pause(ctx)
	d.importing.Lock()
	defer d.importing.Unlock()
	if err := d.clearStaged(ctx, stagedLife); err != nil {
		return in, err
	}
	if len(list) > partRows {
		in, err := d.saveParts(ctx, actor, in, list, now)
		if err == nil && in.ID != "" && after != nil {
			// The file is stored. Flags that fail now are set by the next look at the season.
			in.Changes, _ = d.UpdateFlags(ctx, actor, in.SeasonID, now, after)
		}
		return in, err
	}
	err := d.write(ctx, "save readings", func(c *conn) error {
		h, err := c.head(ctx, actor, in.SeasonID)
		if err != nil {
			return err
		}
		in.ID = ""
		if err := c.notStaging(ctx); err != nil {
			return err
		}
		num, err := c.nextImport(ctx)
		if err != nil {
			return err
		}
		// The import row comes last, when the counts are known: its key is checked at commit.
		if _, err := c.exec(ctx, "PRAGMA defer_foreign_keys = 1"); err != nil {
			return err
		}
		if err := c.insertReadings(ctx, h.num, num, &in, list); err != nil || in.Added == 0 {
			return err
		}
		if err := c.countOther(ctx, num, &in); err != nil {
			return err
		}
		id := logbook.NewID()
		refused, err := in.setStored(id, actor, now)
		if err != nil {
			return err
		}
		if err := c.insert(ctx, "import", importCols, in.row(num, id, h.num, refused, actor, now)...); err != nil {
			return err
		}
		in.Changes, err = c.after(ctx, actor, h, in.SeasonID, now, after, nil)
		return err
	})
	return in, err
}

const importCols = `num, id, season_num, file_sha256, file_name, dialect, rows_added, rows_known, rows_other,
	refused, received_at, by_role, by_label`

// row are the values of importCols.
func (in *Import) row(num int64, id logbook.ID, season int64, refused string, actor logbook.Actor,
	now time.Time) []any {
	return []any{num, id, season, in.FileSHA256, in.FileName, in.Dialect, in.Added, in.Known, in.Other,
		refused, now.Unix(), actor.Role, actor.Label}
}

// setStored fills in what is known once a file is stored, and returns its
// refused rows as they are kept.
func (in *Import) setStored(id logbook.ID, actor logbook.Actor, now time.Time) (refused string, err error) {
	in.ID, in.ReceivedAt, in.By, in.ByLabel = id, now.UTC().Truncate(time.Second), actor.Role, actor.Label
	b, err := json.Marshal(in.Refused)
	return string(b), err
}

func (c *conn) nextImport(ctx context.Context) (num int64, err error) {
	_, err = c.one(ctx, func(r row) error { num = r.int(0); return nil },
		"SELECT coalesce(max(num), 0) + 1 FROM import")
	return num, err
}

// insertReadings stores rows with one prepared statement and counts them.
func (c *conn) insertReadings(ctx context.Context, season, num int64, in *Import, list []logbook.Reading) error {
	in.Added, in.Known, in.Other = 0, 0, 0
	st, err := c.PrepareContext(ctx, `INSERT INTO reading (season_num, read_at, daily, series, on_date, temperature_c, suspect, import_num)
		SELECT ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8 WHERE NOT EXISTS (SELECT 1 FROM reading WHERE season_num = ?1 AND read_at = ?2
			AND daily = ?3 AND series = ?4 AND temperature_c = ?6 AND import_num NOT IN (SELECT import_num FROM import_void))
		ON CONFLICT DO NOTHING`)
	if err != nil {
		return err
	}
	defer st.Close()
	run := st.(driver.StmtExecContext)
	args := make([]driver.NamedValue, 8)
	for i := range args {
		args[i].Ordinal = i + 1
	}
	for i := range list {
		v := &list[i]
		at, daily := v.At.Unix(), int64(0)
		if v.At.IsZero() {
			at, daily = v.On.UTC().Unix(), 1
		}
		args[0].Value, args[1].Value, args[2].Value, args[3].Value = season, at, daily, in.Series
		args[4].Value, args[5].Value, args[6].Value, args[7].Value = v.On.String(), float64(v.Temperature), v.Reason,
			num
		res, err := run.ExecContext(ctx, args)
		if err != nil {
			return err
		}
		switch n, err := res.RowsAffected(); {
		case err != nil:
			return err
		case n > 0:
			in.Added++
			continue
		}
		same := false
		if _, err := c.one(ctx, func(r row) error { same = r[0] == float64(v.Temperature); return nil },
			`SELECT temperature_c FROM reading WHERE season_num = ? AND read_at = ? AND daily = ? AND series = ?
				AND import_num NOT IN (SELECT import_num FROM import_void) ORDER BY temperature_c = ? DESC`,
			season, at, daily, in.Series, float64(v.Temperature)); err != nil {
			return err
		}
		if same {
			in.Known++
		} else {
			in.Other++
		}
	}
	return nil
}

// countOther adds the rows of a file that another file has with another temperature.
func (c *conn) countOther(ctx context.Context, num int64, in *Import) error {
	_, err := c.one(ctx, func(r row) error { in.Other += int(r.int(0)); return nil },
		`SELECT count(*) FROM reading AS r WHERE r.import_num = ? AND EXISTS (SELECT 1 FROM reading AS o
			WHERE o.season_num = r.season_num AND o.read_at = r.read_at AND o.daily = r.daily AND o.series = r.series
			AND o.import_num <> r.import_num AND o.import_num NOT IN (SELECT import_num FROM import_void))`, num)
	return err
}

// VoidImport takes a file of readings back: it stays in the list with the reason, and
// its readings count no more. error.import.voided (Conflict) for one that is back
// already.
func (d *DB) VoidImport(ctx context.Context, actor logbook.Actor, season, id logbook.ID, reason string, now time.Time,
	after After) ([]FlagChange, error) {
	var out []FlagChange
	err := d.write(ctx, "take readings back", func(c *conn) error {
		if strings.TrimSpace(reason) == "" {
			return logbook.Refuse([]logbook.Problem{{Field: "reason", Key: "error.reason"}})
		}
		if err := logbook.Refuse(logbook.ValidateCorrection(reason)); err != nil {
			return err
		}
		h, err := c.head(ctx, actor, season)
		if err != nil {
			return err
		}
		var num int64
		back := false
		found, err := c.one(ctx, func(r row) error { num, back = r.int(0), r[1] != nil; return nil },
			`SELECT num, import_num FROM import LEFT JOIN import_void ON import_num = num
				WHERE id = ? AND season_num = ? AND staged_at IS NULL`, id, h.num)
		switch {
		case err != nil:
			return err
		case !found:
			return logbook.Missing("import")
		case back:
			return logbook.Errorf(logbook.Conflict, "error.import.voided", nil)
		}
		if err := c.insert(ctx, "import_void", "import_num, reason, voided_at, by_role, by_label",
			num, reason, now.Unix(), actor.Role, actor.Label); err != nil {
			return err
		}
		out, err = c.after(ctx, actor, h, season, now, after, nil)
		return err
	})
	return out, err
}

// Imports lists the files of readings of a season, newest first.
func (d *DB) Imports(ctx context.Context, season logbook.ID) ([]Import, error) {
	var out []Import
	err := d.read(ctx, "list imports", func(c *conn) error {
		return c.each(ctx, func(r row) error {
			v := Import{ID: logbook.ID(r.text(0)), SeasonID: season, FileSHA256: r.text(1), FileName: r.text(2),
				Dialect: r.text(3),
				Added:   int(r.int(4)), Known: int(r.int(5)), Other: int(r.int(6)), ReceivedAt: r.at(8),
				By: logbook.Role(r.text(9)), ByLabel: r.text(10)}
			if err := json.Unmarshal([]byte(r.text(7)), &v.Refused); err != nil {
				return err
			}
			if r[11] != nil {
				v.Voided = &ImportVoid{Reason: r.text(11), At: r.at(12), By: logbook.Role(r.text(13)),
					ByLabel: r.text(14)}
			}
			out = append(out, v)
			return nil
		}, `SELECT id, file_sha256, file_name, dialect, rows_added, rows_known, rows_other, refused, received_at, import.by_role, import.by_label,
				reason, voided_at, import_void.by_role, import_void.by_label
			FROM import LEFT JOIN import_void ON import_num = num WHERE season_num = (SELECT num FROM season WHERE id = ?) AND staged_at IS NULL ORDER BY num DESC`, season)
	})
	return out, err
}

// Readings returns the readings of a season on days from to to, both included;
// zero dates are open ends.
func (d *DB) Readings(ctx context.Context, season logbook.ID, from, to civil.Date) ([]logbook.Reading, error) {
	lo, hi := int64(-1<<62), int64(1<<62)
	if !from.IsZero() { // a day at a site begins at most 14 hours before it does in UTC
		lo = from.UTC().Add(-24 * time.Hour).Unix()
	}
	if !to.IsZero() {
		hi = to.UTC().Add(48 * time.Hour).Unix()
	}
	var out []logbook.Reading
	err := d.read(ctx, "read readings", func(c *conn) error {
		return c.each(ctx, func(r row) error {
			v := readReading(r)
			if !v.On.Before(from) && (to.IsZero() || !v.On.After(to)) {
				out = append(out, v)
			}
			return nil
		}, "SELECT "+readingRead+` FROM reading WHERE season_num = (SELECT num FROM season WHERE id = ?)
			AND read_at BETWEEN ? AND ? AND `+stored+` ORDER BY read_at, daily, series`, season, lo, hi)
	})
	logbook.MarkDisputed(out)
	return out, err
}
