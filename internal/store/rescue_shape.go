package store

import (
	"context"
	"slices"
)

// notRescued are tables without entries: secrets, drafts and the layout's own.
var notRescued = []string{"session", "api_token", "calendar_token", "device", "idempotency", "kept_post", "setup_draft",
	"guided_draft",
	"server_address", "goose_db_version"}

// shape is a table as its rows are stored.
type shape struct {
	name    string
	stored  []column // in the order of the record
	rowid   int      // the stored column that is the rowid, or -1
	byRowid bool
}

type column struct {
	name, kind string
	need       bool // never NULL
	given      bool // has a value when it is not stored
}

// shapes reads the tables of the present layout.
func (d *DB) shapes(ctx context.Context) (map[string]*shape, error) {
	out := map[string]*shape{}
	err := d.read(ctx, "read layout", func(c *conn) error {
		if err := c.each(ctx, func(r row) error {
			if !slices.Contains(notRescued, r.text(0)) {
				out[r.text(0)] = &shape{name: r.text(0), byRowid: r.int(1) == 0, rowid: -1}
			}
			return nil
		}, "SELECT name, wr FROM pragma_table_list WHERE schema = 'main' AND type = 'table' AND name NOT LIKE 'sqlite_%'"); err != nil {
			return err
		}
		for _, s := range out {
			// A table without rowid stores its key first.
			order, keys := "cid", 0
			if !s.byRowid {
				order = "pk = 0, pk, cid"
			}
			if err := c.each(ctx, func(r row) error {
				key := r.int(4) > 0
				if key {
					keys++
				}
				if s.byRowid && key && r.text(1) == "INTEGER" {
					s.rowid = len(s.stored)
				}
				s.stored = append(s.stored, column{r.text(0), r.text(1), r.int(2) == 1 || (key && !s.byRowid),
					r[3] != nil})
				return nil
			}, `SELECT name, type, "notnull", dflt_value, pk FROM pragma_table_info(?) ORDER BY `+order,
				s.name); err != nil {
				return err
			}
			if keys > 1 { // only a key of one column is the rowid
				s.rowid = -1
			}
		}
		return nil
	})
	return out, err
}

// row returns the values for the columns of a record, false when it is none of
// this table. Columns that were added after it was stored are left out.
func (s *shape) row(r record) ([]any, bool) {
	if len(r.values) > len(s.stored) {
		return nil, false
	}
	for _, c := range s.stored[len(r.values):] {
		if c.need && !c.given {
			return nil, false
		}
	}
	vals := slices.Clone(r.values)
	for i, v := range vals {
		c := s.stored[i]
		if i == s.rowid {
			if v != nil {
				return nil, false
			}
			vals[i] = r.rowid
			continue
		}
		ok := false
		switch v.(type) {
		case nil:
			ok = !c.need
		case int64:
			ok = c.kind == "INTEGER" || c.kind == "REAL"
		case float64:
			ok = c.kind == "REAL"
		case string:
			ok = c.kind == "TEXT"
		case []byte:
			ok = c.kind == "BLOB"
		}
		if !ok {
			return nil, false
		}
	}
	return vals, true
}
