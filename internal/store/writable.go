package store

import (
	"context"
	"errors"
	"os"
	"sync"
	"time"

	"reddside/internal/logbook"
)

// errGone: what is written now would be lost with the file.
var errGone = errors.New("the file of the logbook is no longer at its path")

// here fails when the file at the path is not the one that was opened: it was
// deleted, moved or replaced, and SQLite goes on writing into what nobody will
// find again.
func (d *DB) here() error {
	now, err := os.Stat(d.path)
	if err != nil || d.opened == nil || !os.SameFile(now, d.opened) {
		return errors.Join(errGone, err)
	}
	return nil
}

// probeEvery is how long a write that succeeded is taken for the next one.
const probeEvery = 15 * time.Second

// probe is what the last probe of writing found.
type probe struct {
	mu  sync.Mutex
	at  time.Time
	err error
}

// Writable reports whether entries can be stored, for the health page: at most
// every probeEvery it writes a number that nobody reads into the head of the
// file.
func (d *DB) Writable(ctx context.Context) error {
	if d.writer == nil {
		return logbook.Errorf(logbook.Unavailable, "error.read_only", nil)
	}
	if err := d.here(); err != nil {
		return wrap("probe", err)
	}
	p := &d.probe
	p.mu.Lock()
	defer p.mu.Unlock()
	if now := time.Now(); p.at.IsZero() || now.Sub(p.at) >= probeEvery {
		p.err = d.writeUnsynced(ctx, "probe", func(c *conn) error {
			_, err := c.exec(ctx, "PRAGMA user_version = 1")
			return err
		})
		p.at = now
		if ctx.Err() != nil {
			p.at = time.Time{} // the caller went away, which says nothing
		}
	}
	return p.err
}
