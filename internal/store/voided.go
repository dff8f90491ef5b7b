package store

import (
	"context"

	"reddside/internal/logbook"
)

// Outside are the rows that a loaded season leaves out, by season: those that were
// taken back, records of releases whose events were, and plans that ended.
type Outside struct {
	Deliveries map[logbook.ID][]logbook.Delivery
	Events     map[logbook.ID][]logbook.Event
	Releases   map[logbook.ID][]logbook.ReleaseRecord
	Plans      map[logbook.ID][]logbook.Plan
	Guesses    map[logbook.ID][]logbook.Guess
	Samples    map[logbook.ID][]logbook.Sample
}

// Outside returns those rows of all seasons, for the export.
func (d *DB) Outside(ctx context.Context) (out Outside, err error) {
	err = d.read(ctx, "read voided entries", func(c *conn) (err error) {
		if out.Deliveries, err = outside(ctx, c, &deliveryTable, "voided = 1", "on_date"); err != nil {
			return err
		}
		if out.Events, err = outside(ctx, c, &eventTable, "voided = 1", "on_date"); err != nil {
			return err
		}
		if out.Releases, err = outside(ctx, c, &releaseTable,
			"voided = 1 OR event_id IN (SELECT id FROM event WHERE voided = 1)", "id"); err != nil {
			return err
		}
		if out.Plans, err = outside(ctx, c, &planTable, "voided = 1 OR ended_on IS NOT NULL", "made_on"); err != nil {
			return err
		}
		if out.Samples, err = outside(ctx, c, &sampleTable, "voided = 1", "on_date"); err != nil {
			return err
		}
		out.Guesses, err = outside(ctx, c, &guessTable, "voided = 1", "guessed_on")
		return err
	})
	return out, err
}

func outside[T any](ctx context.Context, c *conn, t *entryTable[T], where, order string) (map[logbook.ID][]T, error) {
	out := map[logbook.ID][]T{}
	n := len(t.cols) + entryLen
	err := c.each(ctx, func(r row) error {
		v := t.read(r)
		*t.in(&v) = logbook.ID(r.text(n))
		out[*t.in(&v)] = append(out[*t.in(&v)], v)
		return nil
	}, "SELECT "+t.list()+", (SELECT id FROM season WHERE num = season_num) FROM "+t.name+" WHERE "+where+
		" ORDER BY season_num, "+order+", id")
	return out, err
}
