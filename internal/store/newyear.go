package store

import (
	"context"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// EndSeasons closes seasons on a day, all or none. check judges each before it is
// closed; its error, and a season that has ended already, undo everything. Nothing
// of a closed season is lost: it stays readable and counts for the next.
func (d *DB) EndSeasons(ctx context.Context, actor logbook.Actor, ids []logbook.ID, on civil.Date, now time.Time,
	check func(*logbook.Season) error) error {
	return d.write(ctx, "end seasons", func(c *conn) error {
		for _, id := range ids {
			h, err := c.head(ctx, actor, id)
			if err != nil {
				return err
			}
			s, err := c.season(ctx, id)
			if err != nil {
				return err
			}
			if h.closed {
				return logbook.Errorf(logbook.Conflict, "error.season.ended",
					logbook.Args{"Tank": s.Tank.Name, "Site": s.Site.Name})
			}
			s.ClosedOn = on
			if err := check(s); err != nil {
				return err
			}
			if _, err := c.exec(ctx, `UPDATE season SET closed_on = ?, by_role = ?, by_label = ?, changed_at = ?, edits = edits + 1,
				revision = revision + 1 WHERE num = ?`, on, actor.Role, actor.Label, now.Unix(), h.num); err != nil {
				return err
			}
		}
		return nil
	})
}
