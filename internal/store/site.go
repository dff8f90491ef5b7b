package store

import (
	"context"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

const (
	siteCols = "id, name, zone, altitude_m, language, temperature_unit, weekends, by_role, by_label, changed_at"
	siteRead = "site.id, site.name, zone, altitude_m, site.language, site.temperature_unit, site.revision, site.weekends"
	siteLen  = 8
)

func readSite(r row) logbook.Site {
	if _, err := logbook.Zone(r.text(2)); err != nil {
		panic(unreadable{err})
	}
	return logbook.Site{ID: logbook.ID(r.text(0)), Name: r.text(1), Zone: r.text(2),
		Altitude: optReal[units.Metres](r, 3),
		Language: r.text(4), TemperatureUnit: units.TemperatureUnit(r.text(5)), Revision: r.int(6),
		Weekends: logbook.Weekends(r.text(7))}
}

// CreateSite stores a new site. Only a coordinator may.
func (d *DB) CreateSite(ctx context.Context, actor logbook.Actor, s logbook.Site, now time.Time,
	once IdempotencyKey) (logbook.Site, error) {
	err := d.write(ctx, "create site", func(c *conn) error {
		return once.do(ctx, c, actor, now, &s.ID, func() error {
			if actor.Role != logbook.Coordinator {
				return logbook.Errorf(logbook.Forbidden, "error.coordinator_only", nil)
			}
			return c.createSite(ctx, actor, &s, now)
		}, func() (err error) { s, err = c.site(ctx, s.ID); return err })
	})
	return s, err
}

func (c *conn) createSite(ctx context.Context, actor logbook.Actor, s *logbook.Site, now time.Time) error {
	if err := newID(&s.ID); err != nil {
		return err
	}
	s.Revision = 1
	return c.insert(ctx, "site", siteCols, s.ID, s.Name, s.Zone, null(s.Altitude), s.Language, s.TemperatureUnit,
		s.Weekends,
		actor.Role, actor.Label, now.Unix())
}

// UpdateSite changes a site; s.Revision is the one the edit started from.
func (d *DB) UpdateSite(ctx context.Context, actor logbook.Actor, s logbook.Site, now time.Time) (logbook.Site, error) {
	err := d.write(ctx, "update site", func(c *conn) error {
		if !actor.MaySee(s.ID) {
			return logbook.Missing("site")
		}
		if err := c.checkRevision(ctx, "site", "SELECT revision FROM site WHERE id = ?", s.ID, s.Revision); err != nil {
			return err
		}
		s.Revision++
		if _, err := c.exec(ctx, `UPDATE site SET name = ?, zone = ?, altitude_m = ?, language = ?, temperature_unit = ?, weekends = ?,
			by_role = ?, by_label = ?, changed_at = ?, revision = ? WHERE id = ?`,
			s.Name, s.Zone, null(s.Altitude), s.Language, s.TemperatureUnit, s.Weekends,
			actor.Role, actor.Label, now.Unix(), s.Revision, s.ID); err != nil {
			return err
		}
		return c.touchSite(ctx, s.ID)
	})
	return s, err
}

// touchSite bumps the revision of every season at a site.
func (c *conn) touchSite(ctx context.Context, id logbook.ID) error {
	_, err := c.exec(ctx, "UPDATE season SET revision = revision + 1 WHERE tank_id IN (SELECT id FROM tank WHERE site_id = ?)", id)
	return err
}

// Site returns one site.
func (d *DB) Site(ctx context.Context, id logbook.ID) (s logbook.Site, err error) {
	err = d.read(ctx, "read site", func(c *conn) (err error) { s, err = c.site(ctx, id); return err })
	return s, err
}

func (c *conn) site(ctx context.Context, id logbook.ID) (s logbook.Site, err error) {
	found, err := c.one(ctx, func(r row) error { s = readSite(r); return nil }, "SELECT "+siteRead+
		" FROM site WHERE id = ?", id)
	if err == nil && !found {
		err = logbook.Missing("site")
	}
	return s, err
}

// Sites lists the sites by name.
func (d *DB) Sites(ctx context.Context) ([]logbook.Site, error) {
	var out []logbook.Site
	err := d.read(ctx, "list sites", func(c *conn) error {
		return c.each(ctx, func(r row) error { out = append(out, readSite(r)); return nil },
			"SELECT "+siteRead+" FROM site ORDER BY name COLLATE by_number, id")
	})
	return out, err
}
