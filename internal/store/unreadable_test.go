package store

import (
	"context"
	"strings"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// What the program reads as another type than it is stored as is an error, never
// "not observed"; so is a day that is none.
func TestColumnsOfAnotherTypeAreErrors(t *testing.T) {
	ctx := context.Background()
	p := plant(t)
	for name, c := range map[string]struct {
		query string
		read  func(r row)
	}{
		"number read as text":    {"SELECT 7.5", func(r row) { _ = r.text(0) }},
		"text read as number":    {"SELECT '7.5'", func(r row) { _ = optReal[units.Celsius](r, 0) }},
		"whole number read real": {"SELECT 7", func(r row) { _ = optReal[units.Celsius](r, 0) }},
		"text read as count":     {"SELECT '3'", func(r row) { _ = r.optInt(0) }},
		"no day":                 {"SELECT '2026-02-30'", func(r row) { _ = r.date(0) }},
		"text read as instant":   {"SELECT 'now'", func(r row) { _ = r.at(0) }},
	} {
		read := func(ctx context.Context) error {
			return p.read(ctx, "try", func(k *conn) error {
				return k.each(ctx, func(r row) error { c.read(r); return nil }, c.query)
			})
		}
		snapshot, done := p.Snapshot(ctx)
		for _, err := range []error{read(ctx), read(snapshot), read(snapshot)} {
			if err == nil || !strings.Contains(err.Error(), "column 0") {
				t.Errorf("%s: %v, want an error that names the column", name, err)
			}
		}
		done()
	}
	// The connections go on after it, and NULL is a value that is not there.
	err := p.read(ctx, "try", func(k *conn) error {
		_, err := k.one(ctx, func(r row) error {
			if r.text(0) != "" || r.int(0) != 0 || r.date(0) != (civil.Date{}) || !r.at(0).IsZero() || r.optInt(0).OK {
				t.Error("NULL is read as something")
			}
			return nil
		}, "SELECT NULL")
		return err
	})
	if err != nil {
		t.Error(err)
	}
}

// A zone that this machine does not know would shift the days of a school: the
// school is not read at all.
func TestUnknownZoneIsRefusedWhenRead(t *testing.T) {
	ctx := context.Background()
	p := plant(t)
	if err := p.write(ctx, "spoil", func(c *conn) error {
		_, err := c.exec(ctx, "UPDATE site SET zone = 'Mars/Olympus', revision = revision + 1")
		return err
	}); err != nil {
		t.Fatal(err)
	}
	if _, err := p.Sites(ctx); err == nil || !strings.Contains(err.Error(), "Mars/Olympus") {
		t.Errorf("sites are read with %v, want an error that names the zone", err)
	}
}
