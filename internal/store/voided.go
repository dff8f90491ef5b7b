package store

import (
	"context"

	"reddside/internal/logbook"
)

// VoidedEntries returns the deliveries and events that were taken back, by
// season, for the export: a loaded season leaves them out.
func (d *DB) VoidedEntries(ctx context.Context) (deliveries map[logbook.ID][]logbook.Delivery, events map[logbook.ID][]logbook.Event, err error) {
	err = d.read(ctx, "read voided entries", func(c *conn) error {
		if deliveries, err = voided(ctx, c, &deliveryTable); err != nil {
			return err
		}
		events, err = voided(ctx, c, &eventTable)
		return err
	})
	return deliveries, events, err
}

func voided[T any](ctx context.Context, c *conn, t *entryTable[T]) (map[logbook.ID][]T, error) {
	out := map[logbook.ID][]T{}
	n := len(t.cols) + entryLen
	err := c.each(ctx, func(r row) error {
		v := t.read(r)
		*t.in(&v) = logbook.ID(r.text(n))
		out[*t.in(&v)] = append(out[*t.in(&v)], v)
		return nil
	}, "SELECT "+t.list()+", (SELECT id FROM season WHERE num = season_num) FROM "+t.name+" WHERE voided = 1 ORDER BY season_num, on_date, id")
	return out, err
}
