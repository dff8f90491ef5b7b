package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"reddside/internal/logbook"
)

// CountName is the file beside the logbook that says how many changes it has
// acknowledged. The logbook counts them too; when it holds fewer, the end of its
// write-ahead log is missing.
const CountName = "reddside.count"

// acknowledged is the open count file. It is written after each commit without
// waiting for the disk: after a power cut it may say too few, never too many.
type acknowledged struct {
	f   *os.File // nil for a scratch logbook
	had int64    // what the file said when it was opened
}

// openCount opens the count of a folder, which is made when missing.
func openCount(dir string) (acknowledged, error) {
	f, err := os.OpenFile(filepath.Join(dir, CountName), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return acknowledged{}, &logbook.Error{Kind: logbook.Unavailable, Key: "error.disk", Err: err}
	}
	n, err := readCount(dir)
	if err != nil {
		return acknowledged{}, errors.Join(err, f.Close())
	}
	return acknowledged{f: f, had: n}, nil
}

// readCount returns what the count of a folder says, 0 when there is none or
// when it says nothing that can be read.
func readCount(dir string) (int64, error) {
	b, err := os.ReadFile(filepath.Join(dir, CountName))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return 0, err
	}
	n, err := strconv.ParseInt(strings.TrimSpace(string(b)), 10, 64)
	if err != nil {
		return 0, nil
	}
	return n, nil
}

// is notes that change n is stored. A count that cannot be written lags behind,
// which harms nobody.
func (a *acknowledged) is(n int64) {
	if a.f != nil && n > 0 {
		_, _ = a.f.WriteAt(fmt.Appendf(nil, "%019d\n", n), 0) // always as long, in place
	}
}

func (a *acknowledged) close() error {
	if a.f == nil {
		return nil
	}
	return a.f.Close()
}

// countWrite adds one to the count inside the transaction that changed
// something, and returns it. When changes have gone since they were
// acknowledged, that is kept, and the count goes on where it was.
func (d *DB) countWrite(ctx context.Context, c *conn) (n int64, err error) {
	if _, err = c.one(ctx, func(r row) error { n = r.int(0); return nil }, "SELECT n FROM write_count"); err != nil {
		return 0, err
	}
	if n < d.count.had {
		if err := c.insert(ctx, "write_gap", "expected, found, noticed_at", d.count.had, n,
			d.started.Unix()); err != nil {
			return 0, err
		}
		n = d.count.had
	}
	n++
	_, err = c.exec(ctx, "UPDATE write_count SET n = ?", n)
	return n, err
}

// changes returns the rows that the connection has changed since it was opened.
func (c *conn) changes(ctx context.Context) (n int64, err error) {
	_, err = c.one(ctx, func(r row) error { n = r.int(0); return nil }, "SELECT total_changes()")
	return n, err
}

// complete: every change that was acknowledged is there. had is what the count
// beside the file said before the transaction of c began.
func (r *Report) complete(ctx context.Context, c *conn, had int64) error {
	var n int64
	if _, err := c.one(ctx, func(row row) error { n = row.int(0); return nil },
		"SELECT n FROM write_count"); err != nil {
		return err
	}
	if n < had {
		r.problem("verify.writes_missing", logbook.Args{"Count": int(had - n), "Expected": int(had), "Have": int(n)})
	}
	return c.each(ctx, func(row row) error {
		r.warn("verify.writes_lost", logbook.Args{"Count": int(row.int(0)), "At": row.at(1)})
		return nil
	}, "SELECT expected - found, noticed_at FROM write_gap ORDER BY num")
}
