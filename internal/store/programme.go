package store

import (
	"context"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// stale is the answer to an edit that started from an older revision; args say
// which one is stored now.
func stale(now int64) *logbook.Error {
	return logbook.Errorf(logbook.Conflict, "error.stale", logbook.Args{"Revision": int(now)})
}

// checkRevision compares the revision an edit started from with the stored one.
func (c *conn) checkRevision(ctx context.Context, what, query string, id logbook.ID, from int64) error {
	var have int64
	found, err := c.one(ctx, func(r row) error { have = r.int(0); return nil }, query, id)
	switch {
	case err != nil:
		return err
	case !found:
		return logbook.Missing(what)
	case have != from:
		return stale(have)
	}
	return nil
}

const programmeCols = "id, name, language, temperature_unit, invented, by_role, by_label, changed_at"

// CreateProgramme stores the programme; a logbook has one.
func (d *DB) CreateProgramme(ctx context.Context, actor logbook.Actor, p logbook.Programme,
	now time.Time) (logbook.Programme, error) {
	err := d.write(ctx, "create programme", func(c *conn) error { return c.createProgramme(ctx, actor, &p, now) })
	return p, err
}

func (c *conn) createProgramme(ctx context.Context, actor logbook.Actor, p *logbook.Programme, now time.Time) error {
	if err := newID(&p.ID); err != nil {
		return err
	}
	if err := c.noProgramme(ctx); err != nil {
		return err
	}
	p.Revision = 1
	return c.insert(ctx, "programme", programmeCols, p.ID, p.Name, p.Language, p.TemperatureUnit, p.Invented,
		actor.Role, actor.Label, now.Unix())
}

// UpdateProgramme changes the programme; p.Revision is the one the edit started from.
func (d *DB) UpdateProgramme(ctx context.Context, actor logbook.Actor, p logbook.Programme,
	now time.Time) (logbook.Programme, error) {
	err := d.write(ctx, "update programme", func(c *conn) error {
		if err := c.checkRevision(ctx, "programme", "SELECT revision FROM programme WHERE id = ?", p.ID,
			p.Revision); err != nil {
			return err
		}
		p.Revision++
		if _, err := c.exec(ctx, `UPDATE programme SET name = ?, language = ?, temperature_unit = ?, invented = ?,
			by_role = ?, by_label = ?, changed_at = ?, revision = ? WHERE id = ?`,
			p.Name, p.Language, p.TemperatureUnit, p.Invented, actor.Role, actor.Label, now.Unix(), p.Revision,
			p.ID); err != nil {
			return err
		}
		_, err := c.exec(ctx, "UPDATE season SET revision = revision + 1")
		return err
	})
	return p, err
}

// Programme returns the programme, or NotFound before set-up.
func (d *DB) Programme(ctx context.Context) (logbook.Programme, error) {
	var p logbook.Programme
	err := d.read(ctx, "read programme", func(c *conn) error {
		found, err := c.one(ctx, func(r row) error {
			p = logbook.Programme{ID: logbook.ID(r.text(0)), Name: r.text(1), Language: r.text(2),
				TemperatureUnit: units.TemperatureUnit(r.text(3)), Invented: r.flag(4), Revision: r.int(5)}
			return nil
		}, "SELECT id, name, language, temperature_unit, invented, revision FROM programme")
		if err == nil && !found {
			err = logbook.Missing("programme")
		}
		return err
	})
	return p, err
}

// Begun is when the first entry above a season was made in this logbook; zero
// before set-up.
func (d *DB) Begun(ctx context.Context) (at time.Time, err error) {
	err = d.read(ctx, "read begin", func(c *conn) error {
		_, err := c.one(ctx, func(r row) error { at = r.at(0); return nil },
			`SELECT min(at) FROM (SELECT min(changed_at) AS at FROM programme UNION ALL SELECT min(changed_at) FROM site
			UNION ALL SELECT min(at) FROM history)`)
		return err
	})
	return at, err
}
