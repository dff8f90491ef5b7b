package store

import (
	"context"
	"fmt"
	"time"

	"reddside/internal/logbook"
)

// StartSeason stores a season and its first delivery together, or neither.
func (d *DB) StartSeason(ctx context.Context, actor logbook.Actor, s logbook.Season, first logbook.Delivery,
	now time.Time, once IdempotencyKey) (*logbook.Season, error) {
	var out *logbook.Season
	err := d.write(ctx, "start season", func(c *conn) error {
		return once.do(ctx, c, actor, now, &s.ID, func() error {
			num, err := c.createSeason(ctx, actor, &s, now)
			if err != nil {
				return err
			}
			first.SeasonID = s.ID
			if err := newID(&first.ID); err != nil {
				return err
			}
			first.Entry = newEntry(actor, now)
			if err := deliveryTable.insert(ctx, c, num, &first); err != nil {
				return err
			}
			out, err = c.season(ctx, s.ID)
			return err
		}, func() (err error) { out, err = c.season(ctx, s.ID); return err })
	})
	return out, err
}

// LogRow is one row of a whole log: exactly one of its entries is set.
type LogRow struct {
	Check    *logbook.Check
	Event    *logbook.Event
	Delivery *logbook.Delivery
	Sample   *logbook.Sample
	By       logbook.Actor
	At       time.Time // when it was entered
}

// SaveLog stores many rows of one season in one transaction, all or nothing:
// the way in of a logbook file. Its rows must have been validated. A check for
// a taken day and slot is refused with error.check.exists, an equal one is left
// out. It returns how many rows were stored.
func (d *DB) SaveLog(ctx context.Context, actor logbook.Actor, season logbook.ID, rows []LogRow, now time.Time,
	after After) (stored int, changes []FlagChange, err error) {
	err = d.write(ctx, "save log", func(c *conn) error {
		stored = 0
		h, err := c.head(ctx, actor, season)
		if err != nil {
			return err
		}
		for i, r := range rows {
			var fresh bool
			switch {
			case r.Check != nil:
				fresh, err = insertRow(ctx, c, &checkTable, h, season, *r.Check, r)
			case r.Event != nil:
				fresh, err = insertRow(ctx, c, &eventTable, h, season, *r.Event, r)
			case r.Sample != nil:
				fresh, err = insertRow(ctx, c, &sampleTable, h, season, *r.Sample, r)
			case r.Delivery != nil:
				fresh, err = insertRow(ctx, c, &deliveryTable, h, season, *r.Delivery, r)
			}
			if err != nil {
				return fmt.Errorf("row %d: %w", i+1, err)
			}
			if fresh {
				stored++
			}
		}
		if stored == 0 {
			return nil
		}
		changes, err = c.after(ctx, actor, h, season, now, after, nil)
		return err
	})
	return stored, changes, err
}

func insertRow[T any](ctx context.Context, c *conn, t *entryTable[T], h seasonHead, season logbook.ID, v T,
	r LogRow) (bool, error) {
	*t.in(&v) = season
	have, err := t.already(ctx, c, h, &v)
	if err != nil || have != nil {
		return false, err
	}
	if err := newID(t.id(&v)); err != nil {
		return false, err
	}
	*t.meta(&v) = newEntry(r.By, r.At)
	return true, t.insert(ctx, c, h.num, &v)
}
