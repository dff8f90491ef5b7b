package store

import (
	"context"
	"regexp"
	"testing"

	"reddside/internal/logbook"
)

// growing are the tables that get longer every school day.
var growing = regexp.MustCompile(`^SCAN (h|history|flag_history|flag|checks|event|sample|reading|delivery|idempotency)\b`)

// What is asked at a save, on the pages after it, on the board and of one row's
// history never reads a growing table from end to end.
func TestNothingScansAGrowingTable(t *testing.T) {
	p, ctx := plant(t), t.Context()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	raise := func(*logbook.Season, []Flag) ([]FlagChange, error) {
		return []FlagChange{{Op: Raise, Rule: "warm", Kind: "act", On: day}}, nil
	}
	saved, err := p.SaveCheck(ctx, coordinator, p.check(day), noon,
		Write{Once: IdempotencyKey{Key: "k", Route: "r", Fingerprint: "f"}, After: raise})
	must(err)
	_, err = p.VoidCheck(ctx, coordinator, saved.Row.ID, saved.Row.Revision, "typed twice", noon, nil)
	must(err)
	flags, err := p.Flags(ctx, p.season.ID, true)
	must(err)
	_, err = p.SeeFlag(ctx, coordinator, flags[0].ID, noon)
	must(err)
	_, err = p.RowHistory(ctx, saved.Row.ID)
	must(err)
	_, err = p.History(ctx, p.season.ID)
	must(err)
	_, err = p.LiveFlags(ctx, []logbook.ID{p.season.ID})
	must(err)
	for _, f := range []SeasonFilter{{}, {OpenOnly: true, LotMates: true}, {LotIDs: []logbook.ID{p.lot.ID}},
		{LotID: p.lot.ID}} {
		_, err = p.SeasonHeads(ctx, f)
		must(err)
	}
	must(p.LoadSeasons(ctx, []logbook.ID{p.season.ID}, func(*logbook.Season) error { return nil }))
	asked := 0
	explain := func(c *conn) error {
		queries := make([]string, 0, len(c.stmts))
		for q := range c.stmts {
			queries = append(queries, q)
		}
		for _, q := range queries {
			asked++
			if err := c.plan(ctx, q, func(step string) {
				if growing.MatchString(step) {
					t.Errorf("%s\n%s", step, q)
				}
			}); err != nil {
				return err
			}
		}
		return nil
	}
	scans := 0
	must(p.read(ctx, "explain", func(c *conn) error {
		return c.plan(ctx, "SELECT num FROM history WHERE reason = ?", func(step string) {
			if growing.MatchString(step) {
				scans++
			}
		})
	}))
	if scans != 1 {
		t.Error("a scan is not seen")
	}
	must(p.read(ctx, "explain", explain))
	must(p.write(ctx, "explain", explain))
	if asked < 30 {
		t.Errorf("only %d queries were explained", asked)
	}
}

var pragma = regexp.MustCompile(`^(PRAGMA|BEGIN|COMMIT|ROLLBACK|EXPLAIN|CREATE|DROP)`)

func (c *conn) plan(ctx context.Context, query string, fn func(step string)) error {
	if pragma.MatchString(query) {
		return nil
	}
	return c.each(ctx, func(r row) error { fn(r.text(3)); return nil }, "EXPLAIN QUERY PLAN "+query,
		make([]any, 100)...)
}
