package store

import (
	"context"
	"time"

	"reddside/internal/logbook"
)

// partRows is how many readings one transaction stores: a save beside a large
// file waits for one part. Measured, 20 µs a row.
const partRows = 500

// stagedLife is how long after its newest part a staged import is taken for one
// that a crash left behind; its parts follow each other within a second.
const stagedLife = 30 * time.Second

// stored leaves out the readings of a file that is not stored whole yet, and of one
// that was taken back.
const stored = "import_num NOT IN (SELECT num FROM import WHERE staged_at IS NOT NULL UNION ALL SELECT import_num FROM import_void)"

// saveParts stores the readings of a large file part by part. Nobody sees them
// before the last step; a failure or a crash leaves nothing that anybody sees.
func (d *DB) saveParts(ctx context.Context, actor logbook.Actor, in Import, list []logbook.Reading,
	now time.Time) (Import, error) {
	id := logbook.NewID()
	var num int64
	err := d.write(ctx, "stage readings", func(c *conn) error {
		h, err := c.head(ctx, actor, in.SeasonID)
		if err != nil {
			return err
		}
		if err := c.notStaging(ctx); err != nil {
			return err
		}
		if num, err = c.nextImport(ctx); err != nil {
			return err
		}
		return c.insert(ctx, "import", importCols+", staged_at", append(in.row(num, id, h.num, "[]", actor, now),
			time.Now().Unix())...)
	})
	if err != nil {
		return in, err
	}
	total := Import{}
	for from := 0; from < len(list) && err == nil; from += partRows {
		// The commit that shows the file waits for the disk, and with it all before.
		err = d.writeUnsynced(ctx, "store part of readings", func(c *conn) error {
			h, err := c.head(ctx, actor, in.SeasonID)
			if err != nil {
				return err
			}
			if err := c.insertReadings(ctx, h.num, num, &in, list[from:min(from+partRows, len(list))]); err != nil {
				return err
			}
			_, err = c.exec(ctx, "UPDATE import SET staged_at = ? WHERE num = ?", time.Now().Unix(), num)
			return err
		})
		total.Added, total.Known, total.Other = total.Added+in.Added, total.Known+in.Known, total.Other+in.Other
	}
	in.Added, in.Known, in.Other = total.Added, total.Known, total.Other
	if err == nil && in.Added > 0 { // counted apart, so that the last step is short
		err = d.read(ctx, "count other readings", func(c *conn) error { return c.countOther(ctx, num, &in) })
	}
	if err == nil && in.Added > 0 {
		err = d.showStaged(ctx, actor, &in, num, id, now)
	}
	if err != nil || in.Added == 0 {
		// Cleared also when the caller has gone; what is left is cleared later.
		if cerr := d.clearStaged(context.WithoutCancel(ctx), 0); err == nil {
			err = cerr
		}
	}
	return in, err
}

// notStaging refuses readings while a file is staged: its rows would be taken for
// known.
func (c *conn) notStaging(ctx context.Context) error {
	busy, err := c.one(ctx, func(row) error { return nil }, "SELECT 1 FROM import WHERE staged_at IS NOT NULL")
	if err == nil && busy {
		err = logbook.Errorf(logbook.Unavailable, "error.importing", nil)
	}
	return err
}

// showStaged is the step after which everybody sees the whole file.
func (d *DB) showStaged(ctx context.Context, actor logbook.Actor, in *Import, num int64, id logbook.ID,
	now time.Time) error {
	return d.write(ctx, "show readings", func(c *conn) error {
		h, err := c.head(ctx, actor, in.SeasonID)
		if err != nil {
			return err
		}
		refused, err := in.setStored(id, actor, now)
		if err != nil {
			return err
		}
		n, err := c.exec(ctx, "UPDATE import SET staged_at = NULL, rows_added = ?, rows_known = ?, rows_other = ?, refused = ? WHERE num = ? AND id = ?",
			in.Added, in.Known, in.Other, refused, num, id)
		if err != nil {
			return err
		}
		if n != 1 { // cleared by another process that took it for left behind
			return logbook.Errorf(logbook.Unavailable, "error.importing", nil)
		}
		return c.touch(ctx, h.num)
	})
}

// clearStaged deletes, part by part, what imports left staged whose newest part
// is older than age.
func (d *DB) clearStaged(ctx context.Context, age time.Duration) error {
	staged := false // reading holds nobody up, and there is seldom anything
	if err := d.read(ctx, "find staged readings", func(c *conn) (err error) {
		staged, err = c.one(ctx, func(row) error { return nil }, "SELECT 1 FROM import WHERE staged_at IS NOT NULL")
		return err
	}); err != nil || !staged {
		return err
	}
	for {
		var num, n int64
		err := d.writeUnsynced(ctx, "clear staged readings", func(c *conn) error {
			if _, err := c.one(ctx, func(r row) error { num = r.int(0); return nil },
				"SELECT num FROM import WHERE staged_at <= ? ORDER BY num", time.Now().Add(-age).Unix()); err != nil ||
				num == 0 {
				return err
			}
			var err error
			if n, err = c.exec(ctx, `DELETE FROM reading WHERE (season_num, read_at, daily, series) IN
				(SELECT season_num, read_at, daily, series FROM reading WHERE import_num = ? LIMIT ?)`, num, partRows); err != nil || n > 0 {
				return err
			}
			_, err = c.exec(ctx, "DELETE FROM import WHERE num = ?", num)
			return err
		})
		if err != nil || num == 0 {
			return err
		}
	}
}
