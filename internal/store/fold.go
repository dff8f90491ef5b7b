package store

import (
	"context"
	"sync"
	"time"
)

// foldAfter is how long nobody must have written before the write-ahead log is
// folded into the file; foldAtMost times as long it may grow when somebody always
// writes. A local choice: soon enough that the file alone holds the morning's
// checks, seldom enough to cost nothing.
const (
	foldAfter  = 10 * time.Second
	foldAtMost = 6
)

// folding folds the write-ahead log into the file when nobody writes, so that
// the file alone holds every entry.
type folding struct {
	mu          sync.Mutex
	after       time.Duration
	timer       *time.Timer // nil when nothing waits to be folded
	first, last time.Time   // of the writes since it was folded
	stopped     bool
}

// wrote notes a write.
func (d *DB) wrote() {
	f := &d.folding
	f.mu.Lock()
	defer f.mu.Unlock()
	f.last = time.Now()
	if f.timer == nil && !f.stopped && f.after > 0 {
		f.first = f.last
		f.timer = time.AfterFunc(f.after, d.foldWhenIdle)
	}
}

func (d *DB) foldWhenIdle() {
	f := &d.folding
	f.mu.Lock()
	if f.stopped {
		f.mu.Unlock()
		return
	}
	now := time.Now()
	if wait := f.after - now.Sub(f.last); wait > 0 && now.Sub(f.first) < foldAtMost*f.after {
		f.timer.Reset(wait)
		f.mu.Unlock()
		return
	}
	f.timer = nil // a write from here on asks anew
	f.mu.Unlock()
	if done, err := d.fold(context.Background()); err != nil || !done {
		d.wrote() // somebody reads or writes just now: later
	}
}

// fold writes the log into the file and empties it; false when others were
// reading or writing, for whom it does not wait.
func (d *DB) fold(ctx context.Context) (done bool, err error) {
	err = onConn(ctx, d.writer, func(c *conn) error {
		if _, err := c.exec(ctx, "PRAGMA busy_timeout = 0"); err != nil {
			return err
		}
		defer func() { _, _ = c.exec(ctx, "PRAGMA busy_timeout = 5000") }()
		_, err := c.one(ctx, func(r row) error { done = r.int(0) == 0; return nil }, "PRAGMA wal_checkpoint(TRUNCATE)")
		return err
	})
	return done, err
}

func (f *folding) stop() {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.stopped = true
	if f.timer != nil {
		f.timer.Stop()
	}
}
