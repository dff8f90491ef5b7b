package store

import (
	"errors"
	"testing"

	"reddside/internal/logbook"
)

func asError(err error, e **logbook.Error) bool { return errors.As(err, e) }

// TestFullCode: SQLite's own "full" (code 13), by a limit on pages.
func TestFullCode(t *testing.T) {
	p, ctx := plant(t), t.Context()
	if _, err := p.writer.ExecContext(ctx, "PRAGMA max_page_count = 1"); err != nil { // SQLite takes the present size
		t.Fatal(err)
	}
	stored := 0
	var err error
	for ; err == nil && stored < 10_000; stored++ {
		_, err = p.SaveCheck(ctx, coordinator, p.check(day.AddDays(stored)), noon, Write{})
	}
	wantKey(t, err, logbook.Unavailable, "error.disk_full")
	if code(err) != codeFull {
		t.Errorf("code %d", code(err))
	}
	if _, err := p.writer.ExecContext(ctx, "PRAGMA max_page_count = 1000000"); err != nil {
		t.Fatal(err)
	}
	if _, err := p.SaveCheck(ctx, coordinator, p.check(day.AddDays(stored-1)), noon, Write{}); err != nil {
		t.Fatal(err)
	}
	if n := p.count(t, "SELECT count(*) FROM checks"); n != stored {
		t.Errorf("%d checks stored, want %d", n, stored)
	}
}
