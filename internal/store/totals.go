package store

import (
	"context"
	"strings"
)

// Totals says how much a logbook holds, to compare a copy with it.
type Totals struct {
	Changes int64            // stored since the logbook began
	Rows    map[string]int64 // by table
}

// uncounted are tables that change without a change being counted: sessions, and
// what the replication keeps for itself.
func uncounted(table string) bool {
	return table == "session" || strings.HasPrefix(table, "_litestream") || strings.HasPrefix(table, "sqlite_")
}

// Totals reads how much the logbook holds at this moment.
func (d *DB) Totals(ctx context.Context) (t Totals, err error) {
	err = d.read(ctx, "count rows", func(c *conn) error { t, err = c.totals(ctx); return err })
	return t, err
}

// FileTotals checks a database file whole, which nobody writes to, and reads how
// much it holds. Errors: as of Restore.
func FileTotals(ctx context.Context, path string) (t Totals, err error) {
	if _, err := inspect(ctx, path); err != nil {
		return t, wrap("inspect copy", err)
	}
	pool, err := openPool(dsn(path, "mode", "ro", "immutable", "1", "_dqs", "0"), 1, new(seasonCache), nil)
	if err != nil {
		return t, wrap("inspect copy", err)
	}
	defer pool.Close()
	err = inTx(ctx, pool, "BEGIN", func(c *conn) error { t, err = c.totals(ctx); return err })
	return t, wrap("inspect copy", err)
}

func (c *conn) totals(ctx context.Context) (t Totals, err error) {
	var names []string
	if err := c.each(ctx, func(r row) error { names = append(names, r.text(0)); return nil },
		"SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name"); err != nil {
		return t, err
	}
	t.Rows = make(map[string]int64, len(names))
	for _, name := range names {
		if uncounted(name) {
			continue
		}
		if _, err := c.one(ctx, func(r row) error { t.Rows[name] = r.int(0); return nil },
			`SELECT count(*) FROM "`+name+`"`); err != nil {
			return t, err
		}
	}
	_, err = c.one(ctx, func(r row) error { t.Changes = r.int(0); return nil }, "SELECT n FROM write_count")
	return t, err
}
