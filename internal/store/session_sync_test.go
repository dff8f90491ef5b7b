package store

import (
	"context"
	"errors"
	"testing"
	"time"
)

// A session does not wait for the disk, and the next write does again, also when
// the session could not be stored.
func TestOnlySessionsDoNotWaitForTheDisk(t *testing.T) {
	p := plant(t)
	level := func(c *conn) (n int64) {
		if _, err := c.one(context.Background(), func(r row) error { n = r.int(0); return nil },
			"PRAGMA synchronous"); err != nil {
			t.Fatal(err)
		}
		return n
	}
	const full = 2
	wait := func() {
		t.Helper()
		if err := p.write(t.Context(), "look", func(c *conn) error {
			if n := level(c); n != full {
				t.Errorf("a write has synchronous %d, want FULL", n)
			}
			return nil
		}); err != nil {
			t.Fatal(err)
		}
	}
	wait()
	broken := errors.New("broken")
	for _, want := range []error{nil, broken} {
		err := p.writeUnsynced(t.Context(), "session", func(c *conn) error {
			if n := level(c); n != synchronousNormal {
				t.Errorf("a session has synchronous %d, want NORMAL", n)
			}
			return want
		})
		if !errors.Is(err, want) {
			t.Errorf("%v, want %v", err, want)
		}
		wait()
	}
	s := p.Sessions(func() time.Time { return noon })
	if err := s.Commit("token", []byte("data"), noon.Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	if data, found, err := s.Find("token"); err != nil || !found || string(data) != "data" {
		t.Errorf("%q %v %v", data, found, err)
	}
	wait()
}
