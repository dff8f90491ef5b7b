package store

import (
	"context"
	"time"

	"reddside/internal/logbook"
)

// Ready is a thing that somebody made ready in a tank before eggs come.
type Ready struct {
	Item string // of the list in package care
	At   time.Time
	Role logbook.Role
	By   string
}

// SetReady ticks things of a tank, or takes their ticks off, each once: what is so
// already is left alone.
func (d *DB) SetReady(ctx context.Context, actor logbook.Actor, tank logbook.ID, done map[string]bool,
	now time.Time) error {
	return d.write(ctx, "tick what is ready", func(c *conn) error {
		have, err := c.ready(ctx, tank)
		if err != nil {
			return err
		}
		for item, want := range done {
			if _, is := have[tank][item]; is == want {
				continue
			}
			if err := c.insert(ctx, "ready", "tank_id, item, done, at, by_role, by_label", tank, item, want, now.Unix(),
				actor.Role, actor.Label); err != nil {
				return err
			}
		}
		return nil
	})
}

// ReadyTicks returns what is ready by tank and item, of one tank or, with "", of
// all. Ticks from before the last delivery of a tank are of another season.
func (d *DB) ReadyTicks(ctx context.Context, tank logbook.ID) (out map[logbook.ID]map[string]Ready, err error) {
	err = d.read(ctx, "read what is ready", func(c *conn) error {
		out, err = c.ready(ctx, tank)
		return err
	})
	return out, err
}

func (c *conn) ready(ctx context.Context, tank logbook.ID) (map[logbook.ID]map[string]Ready, error) {
	out := map[logbook.ID]map[string]Ready{}
	return out, c.each(ctx, func(r row) error {
		id := logbook.ID(r.text(0))
		if out[id] == nil {
			out[id] = map[string]Ready{}
		}
		out[id][r.text(1)] = Ready{Item: r.text(1), At: r.at(2), Role: logbook.Role(r.text(3)), By: r.text(4)}
		return nil
	}, `SELECT t.id, r.item, r.at, r.by_role, r.by_label FROM tank t CROSS JOIN ready r
		ON r.tank_id = t.id WHERE (?1 = '' OR t.id = ?1) AND r.done = 1
		AND r.num = (SELECT max(num) FROM ready WHERE tank_id = t.id AND item = r.item)
		AND r.at >= coalesce((SELECT max(d.received_at) FROM season s JOIN delivery d ON d.season_num = s.num
			WHERE s.tank_id = t.id AND d.voided = 0), 0)`, tank)
}
