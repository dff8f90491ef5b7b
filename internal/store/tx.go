package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"fmt"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// read runs fn in one read transaction, that of the context's Snapshot if it has one:
// all its queries see the same state.
func (d *DB) read(ctx context.Context, op string, fn func(c *conn) error) error {
	if s := snapshotOf(ctx, d); s != nil {
		return wrap(op, s.read(ctx, fn))
	}
	return wrap(op, inTx(ctx, d.reader, "BEGIN", fn))
}

// write runs fn in one write transaction, committed when fn returns nil. fn
// must not use d.
func (d *DB) write(ctx context.Context, op string, fn func(c *conn) error) error {
	if d.writer == nil {
		return logbook.Errorf(logbook.Unavailable, "error.read_only", nil)
	}
	Pause(ctx)  // who waits for the writer keeps no reader, and then sees what was written
	var n int64 // of the change, 0 when fn changed nothing
	var judged []*logbook.Season
	err := inTx(ctx, d.writer, "BEGIN IMMEDIATE", d.whileHere(func(c *conn) error {
		c.judged = nil
		defer func() { judged, c.judged = c.judged, nil }()
		before, err := c.changes(ctx)
		if err != nil {
			return err
		}
		if err := fn(c); err != nil {
			return err
		}
		after, err := c.changes(ctx)
		if err == nil && after != before {
			n, err = d.countWrite(ctx, c)
		}
		return err
	}))
	if err == nil && n > 0 {
		d.count.is(n)
		d.wrote()
	}
	if err == nil && d.onJudged != nil {
		for _, s := range judged {
			d.onJudged(s)
		}
	}
	return wrap(op, err)
}

// whileHere refuses the commit when the file has gone from its path. Before the
// file was opened whole, as during a migration, there is nothing to compare.
func (d *DB) whileHere(fn func(c *conn) error) func(c *conn) error {
	return func(c *conn) error {
		if err := fn(c); err != nil || d.opened == nil {
			return err
		}
		return d.here()
	}
}

// writeUnsynced is write for rows that a power cut may take back, at no harm:
// the commit does not wait for the disk. What write commits later is as safe as
// ever.
func (d *DB) writeUnsynced(ctx context.Context, op string, fn func(c *conn) error) error {
	if d.writer == nil {
		return logbook.Errorf(logbook.Unavailable, "error.read_only", nil)
	}
	Pause(ctx) // who waits for the writer keeps no reader, and then sees what was written
	return wrap(op, onConn(ctx, d.writer, func(c *conn) (err error) {
		level := int64(0)
		if _, err := c.one(ctx, func(r row) error { level = r.int(0); return nil }, "PRAGMA synchronous"); err != nil {
			return err
		}
		if level > synchronousNormal {
			if _, err := c.exec(ctx, "PRAGMA synchronous = NORMAL"); err != nil {
				return err
			}
			defer func() {
				if _, restore := c.exec(context.WithoutCancel(ctx), "PRAGMA synchronous = FULL"); restore != nil {
					err = driver.ErrBadConn // the pool throws the connection away
				}
			}()
		}
		defer d.wrote()
		return c.tx(ctx, "BEGIN IMMEDIATE", d.whileHere(fn))
	}))
}

// synchronousNormal is how SQLite numbers NORMAL; FULL is above it.
const synchronousNormal = 1

func inTx(ctx context.Context, pool *sql.DB, begin string, fn func(c *conn) error) error {
	return onConn(ctx, pool, func(c *conn) error { return c.tx(ctx, begin, fn) })
}

// onConn calls fn with a connection that nobody else has meanwhile.
func onConn(ctx context.Context, pool *sql.DB, fn func(c *conn) error) error {
	sc, err := pool.Conn(ctx)
	if err != nil {
		return err
	}
	defer sc.Close()
	return sc.Raw(func(raw any) error {
		c, err := asConn(raw)
		if err != nil {
			return err
		}
		return fn(c)
	})
}

func asConn(raw any) (*conn, error) {
	c, ok := raw.(*conn)
	if !ok {
		return nil, fmt.Errorf("unexpected database connection %T", raw)
	}
	return c, nil
}

// keepFresh gives what was loaded to the cache, or forgets it.
func (c *conn) keepFresh(committed bool) {
	for _, s := range c.fresh {
		if committed {
			c.cache.put(s)
		}
	}
	c.fresh = nil
}

// tx runs fn in one transaction, committed when fn returns nil.
func (c *conn) tx(ctx context.Context, begin string, fn func(c *conn) error) error {
	if _, err := c.exec(ctx, begin); err != nil {
		return err
	}
	// Once decided, a commit or rollback is carried out even when the caller has
	// gone: the answer must match what is stored.
	end := context.WithoutCancel(ctx)
	done := false
	defer func() {
		c.keepFresh(done)
		if !done {
			_, _ = c.exec(end, "ROLLBACK") // SQLite may have rolled back already
		}
	}()
	if err := readable(c, fn); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if _, err := c.exec(end, "COMMIT"); err != nil {
		return err
	}
	done = true
	return nil
}

// values converts arguments for the driver.
func values(args []any) ([]driver.NamedValue, error) {
	out := make([]driver.NamedValue, len(args))
	for i, a := range args {
		v, err := driver.DefaultParameterConverter.ConvertValue(a)
		if err != nil {
			return nil, err
		}
		out[i] = driver.NamedValue{Ordinal: i + 1, Value: v}
	}
	return out, nil
}

// row is one row as the driver gives it: nil, int64, float64, string, []byte. Its
// readers take NULL as the zero value; a value of another type, which a damaged
// or foreign file may hold, ends the transaction with an error: it is never
// taken for one that was not observed.
type row []driver.Value

// unreadable is what a reader of a row panics with; readable makes it the error
// of the transaction.
type unreadable struct{ error }

// readable calls fn and returns what its rows could not be read as.
func readable(c *conn, fn func(c *conn) error) (err error) {
	defer func() {
		switch v := recover().(type) {
		case nil:
		case unreadable:
			err = v
		default:
			panic(v)
		}
	}()
	return fn(c)
}

// typed reads value i of the row as T, the zero value and false when it is NULL.
func typed[T any](r row, i int) (v T, ok bool) {
	if r[i] == nil {
		return v, false
	}
	if v, ok = r[i].(T); !ok {
		panic(unreadable{fmt.Errorf("column %d of a row is %T, not %T", i, r[i], v)})
	}
	return v, true
}

func (r row) text(i int) string {
	s, _ := typed[string](r, i)
	return s
}

func (r row) bytes(i int) []byte {
	b, _ := typed[[]byte](r, i)
	return b
}

func (r row) int(i int) int64 {
	n, _ := typed[int64](r, i)
	return n
}

func (r row) flag(i int) bool { return r.int(i) != 0 }

// at reads an instant; NULL is the zero time.
func (r row) at(i int) time.Time {
	n, ok := typed[int64](r, i)
	if !ok {
		return time.Time{}
	}
	return time.Unix(n, 0).UTC()
}

// date reads a civil date; NULL is the zero date.
func (r row) date(i int) civil.Date {
	s, ok := typed[string](r, i)
	if !ok {
		return civil.Date{}
	}
	d, err := civil.Parse(s)
	if err != nil {
		panic(unreadable{fmt.Errorf("column %d of a row: %w", i, err)})
	}
	return d
}

func (r row) optInt(i int) units.Optional[int] {
	n, ok := typed[int64](r, i)
	return units.Optional[int]{V: int(n), OK: ok}
}

func optReal[T ~float64](r row, i int) units.Optional[T] {
	v, ok := typed[float64](r, i)
	return units.Optional[T]{V: T(v), OK: ok}
}

// null makes an argument of an optional value.
func null[T any](o units.Optional[T]) any {
	if !o.OK {
		return nil
	}
	return o.V
}

// nullTime makes an argument of an instant; the zero time is NULL.
func nullTime(t time.Time) any {
	if t.IsZero() {
		return nil
	}
	return t.Unix()
}

// nullText makes an argument of a text; the empty text is NULL.
func nullText[T ~string](s T) any {
	if s == "" {
		return nil
	}
	return string(s)
}

// newID keeps the id that came with a row or makes one.
func newID(id *logbook.ID) error {
	if *id == "" {
		*id = logbook.NewID()
		return nil
	}
	if !wellFormed(*id) {
		return logbook.Errorf(logbook.Invalid, "error.id", nil)
	}
	return nil
}

// wellFormed reports whether an id looks like one made by logbook.NewID.
func wellFormed(id logbook.ID) bool {
	if len(id) != 26 {
		return false
	}
	for _, b := range []byte(id) {
		if (b < 'a' || b > 'z') && (b < '0' || b > '9') {
			return false
		}
	}
	return true
}
