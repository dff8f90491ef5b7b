package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
)

// snapshot is a read transaction that all reads of a context share. It begins with
// the first of them.
type snapshot struct {
	d     *DB
	held  *sql.Conn // nil while nothing is open
	c     *conn     // of held, in its transaction
	depth int       // of reads inside each other: a row of an open query asks for more
}

type snapshotKey struct{}

// Snapshot returns a context whose reads see one state of the logbook and are one
// transaction, until done or Pause. One goroutine at a time may use it.
func (d *DB) Snapshot(ctx context.Context) (in context.Context, done func()) {
	if snapshotOf(ctx, d) != nil {
		return ctx, func() {}
	}
	s := &snapshot{d: d}
	return context.WithValue(ctx, snapshotKey{}, s), s.end
}

// Pause ends the transaction of the context's snapshot before something that may
// take long: a lock, a network, a write. The next read begins another one.
func Pause(ctx context.Context) {
	if s, _ := ctx.Value(snapshotKey{}).(*snapshot); s != nil {
		s.end()
	}
}

func snapshotOf(ctx context.Context, d *DB) *snapshot {
	if s, _ := ctx.Value(snapshotKey{}).(*snapshot); s != nil && s.d == d {
		return s
	}
	return nil
}

func (s *snapshot) read(ctx context.Context, fn func(c *conn) error) error {
	if s.depth > 0 {
		return fn(s.c) // the outer read says what could not be read
	}
	if s.held == nil {
		var err error
		if s.held, err = s.d.reader.Conn(ctx); err != nil {
			s.held = nil
			return err
		}
	}
	err := s.held.Raw(func(raw any) error {
		c, err := asConn(raw)
		if err != nil {
			return err
		}
		if s.c == nil {
			if _, err := c.exec(ctx, "BEGIN"); err != nil {
				return err
			}
			s.c = c
		}
		s.depth++
		defer func() { s.depth-- }()
		err = readable(c, fn)
		c.keepFresh(true) // what is read here is committed
		return err
	})
	if errors.Is(err, driver.ErrBadConn) || errors.Is(err, sql.ErrConnDone) {
		_ = s.held.Close()
		s.held, s.c = nil, nil
	}
	return err
}

// end gives the connection back. While a query is open it does nothing.
func (s *snapshot) end() {
	if s.held == nil || s.depth > 0 {
		return
	}
	_ = s.held.Raw(func(any) error {
		if s.c == nil {
			return nil
		}
		if _, err := s.c.exec(context.Background(), "ROLLBACK"); err != nil {
			return driver.ErrBadConn // the pool throws the connection away
		}
		return nil
	})
	_ = s.held.Close()
	s.held, s.c = nil, nil
}
