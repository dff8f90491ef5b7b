package store

import (
	"testing"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// A column of the wrong type is an error in every reader of columns; NULL is absent.
func TestColumnOfTheWrongTypeIsAnError(t *testing.T) {
	p := plant(t)
	for name, c := range map[string]struct {
		sql  string
		read func(r row)
	}{
		"text":          {"SELECT 7", func(r row) { r.text(0) }},
		"int":           {"SELECT '7'", func(r row) { r.int(0) }},
		"flag":          {"SELECT 1.0", func(r row) { r.flag(0) }},
		"instant":       {"SELECT 'now'", func(r row) { r.at(0) }},
		"date":          {"SELECT 20260210", func(r row) { r.date(0) }},
		"malformed day": {"SELECT '2026-02-30'", func(r row) { r.date(0) }},
		"count":         {"SELECT '3'", func(r row) { r.optInt(0) }},
		"real":          {"SELECT '7.5'", func(r row) { optReal[units.Celsius](r, 0) }},
	} {
		read := func(sql string) error {
			return p.read(t.Context(), "read", func(k *conn) error {
				_, err := k.one(t.Context(), func(r row) error { c.read(r); return nil }, sql)
				return err
			})
		}
		if err := read(c.sql); err == nil {
			t.Errorf("%s: %s is taken", name, c.sql)
		}
		if err := read("SELECT NULL"); err != nil {
			t.Errorf("%s: NULL: %v", name, err)
		}
	}
	if _, err := p.LoadSeason(t.Context(), p.season.ID); err != nil { // the connections still serve
		t.Error(err)
	}
	var d civil.Date
	if err := p.read(t.Context(), "read", func(k *conn) error {
		_, err := k.one(t.Context(), func(r row) error { d = r.date(0); return nil }, "SELECT '2026-02-10'")
		return err
	}); err != nil || d != civil.MustParse("2026-02-10") {
		t.Error(d, err)
	}
}
