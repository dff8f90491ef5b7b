package store

import (
	"context"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

const (
	tankCols = "id, site_id, name, volume_l, wall, setpoint_c, has_chiller, has_filter, has_airpump, has_basket, by_role, by_label, changed_at"
	tankRead = "tank.id, tank.site_id, tank.name, volume_l, wall, setpoint_c, has_chiller, has_filter, has_airpump, has_basket, tank.revision"
	tankLen  = 11
)

func readTank(r row) logbook.Tank {
	return logbook.Tank{ID: logbook.ID(r.text(0)), SiteID: logbook.ID(r.text(1)), Name: r.text(2),
		Volume: optReal[units.Litres](r, 3).V, Wall: logbook.Wall(r.text(4)), Setpoint: optReal[units.Celsius](r, 5),
		HasChiller: r.flag(6), HasFilter: r.flag(7), HasAirPump: r.flag(8), HasBasket: r.flag(9), Revision: r.int(10)}
}

// CreateTank stores a new tank of a site.
func (d *DB) CreateTank(ctx context.Context, actor logbook.Actor, t logbook.Tank, now time.Time,
	once IdempotencyKey) (logbook.Tank, error) {
	err := d.write(ctx, "create tank", func(c *conn) error {
		return once.do(ctx, c, actor, now, &t.ID, func() error { return c.createTank(ctx, actor, &t, now) },
			func() (err error) { t, err = c.tank(ctx, t.ID); return err })
	})
	return t, err
}

func (c *conn) createTank(ctx context.Context, actor logbook.Actor, t *logbook.Tank, now time.Time) error {
	if err := newID(&t.ID); err != nil {
		return err
	}
	if !actor.MaySee(t.SiteID) {
		return logbook.Missing("site")
	}
	if _, err := c.site(ctx, t.SiteID); err != nil {
		return err
	}
	t.Revision = 1
	return c.insert(ctx, "tank", tankCols, t.ID, t.SiteID, t.Name, t.Volume, t.Wall, null(t.Setpoint),
		t.HasChiller, t.HasFilter, t.HasAirPump, t.HasBasket, actor.Role, actor.Label, now.Unix())
}

// UpdateTank changes a tank; t.Revision is the one the edit started from. A
// tank stays at its site.
func (d *DB) UpdateTank(ctx context.Context, actor logbook.Actor, t logbook.Tank, now time.Time) (logbook.Tank, error) {
	err := d.write(ctx, "update tank", func(c *conn) error {
		have, err := c.tank(ctx, t.ID)
		switch {
		case err != nil:
			return err
		case !actor.MaySee(have.SiteID):
			return logbook.Missing("tank")
		case have.Revision != t.Revision:
			return stale(have.Revision)
		}
		t.SiteID = have.SiteID
		t.Revision++
		if _, err := c.exec(ctx, `UPDATE tank SET name = ?, volume_l = ?, wall = ?, setpoint_c = ?, has_chiller = ?, has_filter = ?,
			has_airpump = ?, has_basket = ?, by_role = ?, by_label = ?, changed_at = ?, revision = ? WHERE id = ?`,
			t.Name, t.Volume, t.Wall, null(t.Setpoint), t.HasChiller, t.HasFilter, t.HasAirPump, t.HasBasket,
			actor.Role, actor.Label, now.Unix(), t.Revision, t.ID); err != nil {
			return err
		}
		_, err = c.exec(ctx, "UPDATE season SET revision = revision + 1 WHERE tank_id = ?", t.ID)
		return err
	})
	return t, err
}

// Tank returns one tank.
func (d *DB) Tank(ctx context.Context, id logbook.ID) (t logbook.Tank, err error) {
	err = d.read(ctx, "read tank", func(c *conn) (err error) { t, err = c.tank(ctx, id); return err })
	return t, err
}

func (c *conn) tank(ctx context.Context, id logbook.ID) (t logbook.Tank, err error) {
	found, err := c.one(ctx, func(r row) error { t = readTank(r); return nil }, "SELECT "+tankRead+
		" FROM tank WHERE id = ?", id)
	if err == nil && !found {
		err = logbook.Missing("tank")
	}
	return t, err
}

// Tanks lists the tanks of a site by name, or of all sites when site is empty.
func (d *DB) Tanks(ctx context.Context, site logbook.ID) ([]logbook.Tank, error) {
	var out []logbook.Tank
	err := d.read(ctx, "list tanks", func(c *conn) error {
		return c.each(ctx, func(r row) error { out = append(out, readTank(r)); return nil },
			"SELECT "+tankRead+" FROM tank WHERE ?1 = '' OR site_id = ?1 ORDER BY site_id, name COLLATE by_number, id",
			site)
	})
	return out, err
}
