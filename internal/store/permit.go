package store

import (
	"context"
	"strings"
	"time"

	"reddside/internal/logbook"
)

// rowTable describes a table of rows of the whole programme: its id, its fields and
// what every entry has. Only a coordinator writes it.
type rowTable[T any] struct {
	name   string
	order  string
	fields []logbook.Field[T]
	id     func(*T) *logbook.ID
	meta   func(*T) *logbook.Entry
}

var permitTable = rowTable[logbook.Permit]{name: "permit", order: "number COLLATE by_number, id",
	fields: logbook.PermitFields(),
	id:     func(p *logbook.Permit) *logbook.ID { return &p.ID },
	meta:   func(p *logbook.Permit) *logbook.Entry { return &p.Entry }}

var placeTable = rowTable[logbook.ReleasePlace]{name: "release_place", order: "name COLLATE by_number, id",
	fields: logbook.PlaceFields(),
	id:     func(p *logbook.ReleasePlace) *logbook.ID { return &p.ID },
	meta:   func(p *logbook.ReleasePlace) *logbook.Entry { return &p.Entry }}

func (t *rowTable[T]) cols() string {
	out := "id"
	for i := range t.fields {
		out += ", " + t.fields[i].ColumnName()
	}
	return out + ", " + entryCols
}

func (t *rowTable[T]) read(r row) (v T) {
	*t.id(&v), *t.meta(&v) = logbook.ID(r.text(0)), readEntry(r[1+len(t.fields):])
	for i := range t.fields {
		readField(&t.fields[i], &v, r, i+1)
	}
	return v
}

func (t *rowTable[T]) args(v *T) []any {
	out := []any{*t.id(v)}
	for i := range t.fields {
		out = append(out, argOf(&t.fields[i], v))
	}
	return append(out, entryArgs(t.meta(v))...)
}

func (t *rowTable[T]) one(ctx context.Context, c *conn, id logbook.ID) (v T, err error) {
	found, err := c.one(ctx, func(r row) error { v = t.read(r); return nil },
		"SELECT "+t.cols()+" FROM "+t.name+" WHERE id = ?", id)
	if err == nil && !found {
		err = logbook.Missing(t.name)
	}
	return v, err
}

func (t *rowTable[T]) list(ctx context.Context, c *conn) (out []T, err error) {
	err = c.each(ctx, func(r row) error { out = append(out, t.read(r)); return nil },
		"SELECT "+t.cols()+" FROM "+t.name+" WHERE voided = 0 ORDER BY "+t.order)
	return out, err
}

func (t *rowTable[T]) create(ctx context.Context, d *DB, actor logbook.Actor, v T, now time.Time,
	once IdempotencyKey) (T, error) {
	err := d.write(ctx, "create "+t.name, func(c *conn) error {
		return once.do(ctx, c, actor, now, t.id(&v), func() error {
			if actor.Role != logbook.Coordinator {
				return logbook.Missing(t.name)
			}
			if err := newID(t.id(&v)); err != nil {
				return err
			}
			*t.meta(&v) = newEntry(actor, now)
			return c.insert(ctx, t.name, t.cols(), t.args(&v)...)
		}, func() (err error) { v, err = t.one(ctx, c, *t.id(&v)); return err })
	})
	return v, err
}

// update replaces a row, or takes it back when void is set. The revision of v is the
// one the edit started from.
func (t *rowTable[T]) update(ctx context.Context, d *DB, actor logbook.Actor, v T, void bool, reason string,
	now time.Time, touch func(*conn) error) (T, error) {
	err := d.write(ctx, "update "+t.name, func(c *conn) error {
		if strings.TrimSpace(reason) == "" {
			return logbook.Refuse([]logbook.Problem{{Field: "reason", Key: "error.reason"}})
		}
		have, err := t.one(ctx, c, *t.id(&v))
		switch {
		case err != nil:
			return err
		case actor.Role != logbook.Coordinator:
			return logbook.Missing(t.name)
		case t.meta(&have).Voided:
			return logbook.Errorf(logbook.Conflict, t.name+".gone", nil)
		case t.meta(&have).Revision != t.meta(&v).Revision:
			return stale(t.meta(&have).Revision)
		}
		*t.meta(&v) = next(*t.meta(&have), actor, reason, void, now)
		cols := strings.Split(t.cols(), ", ")
		_, err = c.exec(ctx, "UPDATE "+t.name+" SET "+strings.Join(cols[1:], " = ?, ")+" = ? WHERE id = ?",
			append(t.args(&v)[1:], *t.id(&v))...)
		if err == nil && touch != nil {
			err = touch(c)
		}
		return err
	})
	return v, err
}

// CreatePermit stores a permit of the programme.
func (d *DB) CreatePermit(ctx context.Context, actor logbook.Actor, p logbook.Permit, now time.Time,
	once IdempotencyKey) (logbook.Permit, error) {
	return permitTable.create(ctx, d, actor, p, now, once)
}

// UpdatePermit changes a permit, or takes it back when void is set; then no season is
// under it any more. p.Revision is the one the edit started from.
func (d *DB) UpdatePermit(ctx context.Context, actor logbook.Actor, p logbook.Permit, void bool, reason string,
	now time.Time) (logbook.Permit, error) {
	return permitTable.update(ctx, d, actor, p, void, reason, now, func(c *conn) error {
		if void {
			return c.setPermit(ctx, actor, "permit_id = ?2", p.ID, "", now)
		}
		_, err := c.exec(ctx, "UPDATE season SET revision = revision + 1 WHERE permit_id = ?", p.ID)
		return err
	})
}

// setPermit puts seasons under a permit, or under none for "".
func (c *conn) setPermit(ctx context.Context, actor logbook.Actor, where string, arg, permit logbook.ID,
	now time.Time) error {
	_, err := c.exec(ctx, `UPDATE season SET permit_id = nullif(?1, ''), by_role = ?3, by_label = ?4, changed_at = ?5,
		edits = edits + 1, revision = revision + 1 WHERE permit_id IS NOT nullif(?1, '') AND `+where,
		permit, arg, actor.Role, actor.Label, now.Unix())
	return err
}

// AttachPermit puts seasons under a permit, or under none when permit is "". A season
// is under one permit at a time.
func (d *DB) AttachPermit(ctx context.Context, actor logbook.Actor, permit logbook.ID, seasons []logbook.ID,
	now time.Time) error {
	return d.write(ctx, "attach permit", func(c *conn) error {
		if actor.Role != logbook.Coordinator {
			return logbook.Missing("permit")
		}
		if permit != "" {
			switch p, err := permitTable.one(ctx, c, permit); {
			case err != nil:
				return err
			case p.Voided:
				return logbook.Errorf(logbook.Conflict, "permit.gone", nil)
			}
		}
		for _, id := range seasons {
			if _, err := c.head(ctx, actor, id); err != nil {
				return err
			}
			if err := c.setPermit(ctx, actor, "id = ?2", id, permit, now); err != nil {
				return err
			}
		}
		return nil
	})
}

// Permits lists the permits of the programme by number.
func (d *DB) Permits(ctx context.Context) (out []logbook.Permit, err error) {
	err = d.read(ctx, "list permits", func(c *conn) (err error) { out, err = permitTable.list(ctx, c); return err })
	return out, err
}

// Permit returns a permit, taken back or not.
func (d *DB) Permit(ctx context.Context, id logbook.ID) (p logbook.Permit, err error) {
	err = d.read(ctx, "read permit", func(c *conn) (err error) { p, err = permitTable.one(ctx, c, id); return err })
	return p, err
}

// PermitSeasons lists the seasons under each permit.
func (d *DB) PermitSeasons(ctx context.Context) (map[logbook.ID][]logbook.ID, error) {
	out := map[logbook.ID][]logbook.ID{}
	err := d.read(ctx, "list seasons of permits", func(c *conn) error {
		return c.each(ctx, func(r row) error {
			p := logbook.ID(r.text(0))
			out[p] = append(out[p], logbook.ID(r.text(1)))
			return nil
		}, "SELECT permit_id, id FROM season WHERE permit_id IS NOT NULL ORDER BY num")
	})
	return out, err
}

// ReleasedUnder counts the fish released under a permit so far: of releases that name
// its number, and of its seasons where no number was named. but is left out.
func (d *DB) ReleasedUnder(ctx context.Context, p *logbook.Permit, but logbook.ID) (n int, err error) {
	err = d.read(ctx, "count releases", func(c *conn) error {
		_, err := c.one(ctx, func(r row) error { n = int(r.int(0)); return nil },
			`SELECT coalesce(sum(fish_count), 0) FROM (
				SELECT id, fish_count FROM event WHERE kind = 'release' AND voided = 0 AND permit = ?1
				UNION ALL SELECT event.id, fish_count FROM season JOIN event ON season_num = num
				WHERE permit_id = ?2 AND permit = '' AND kind = 'release' AND voided = 0) WHERE id <> ?3`, p.Number, p.ID, but)
		return err
	})
	return n, err
}

// CreateReleasePlace stores a place of release.
func (d *DB) CreateReleasePlace(ctx context.Context, actor logbook.Actor, p logbook.ReleasePlace, now time.Time,
	once IdempotencyKey) (logbook.ReleasePlace, error) {
	return placeTable.create(ctx, d, actor, p, now, once)
}

// UpdateReleasePlace changes a place of release, or takes it back when void is set.
func (d *DB) UpdateReleasePlace(ctx context.Context, actor logbook.Actor, p logbook.ReleasePlace, void bool,
	reason string, now time.Time) (logbook.ReleasePlace, error) {
	return placeTable.update(ctx, d, actor, p, void, reason, now, nil)
}

// ReleasePlaces lists the places of release by name.
func (d *DB) ReleasePlaces(ctx context.Context) (out []logbook.ReleasePlace, err error) {
	err = d.read(ctx, "list places", func(c *conn) (err error) { out, err = placeTable.list(ctx, c); return err })
	return out, err
}

// ReleasePlace returns a place of release, taken back or not.
func (d *DB) ReleasePlace(ctx context.Context, id logbook.ID) (p logbook.ReleasePlace, err error) {
	err = d.read(ctx, "read place", func(c *conn) (err error) { p, err = placeTable.one(ctx, c, id); return err })
	return p, err
}

// ReleaseYears lists the years with releases, newest first.
func (d *DB) ReleaseYears(ctx context.Context) (out []string, err error) {
	err = d.read(ctx, "list years of releases", func(c *conn) error {
		return c.each(ctx, func(r row) error { out = append(out, r.text(0)); return nil },
			`SELECT DISTINCT substr(on_date, 1, 4) AS year FROM event
			WHERE kind = 'release' AND voided = 0 AND permit >= '' ORDER BY year DESC`)
	})
	return out, err
}

// ReleaseSeasons lists the seasons of a site, or of all for "", from which fish were
// released in a year (YYYY), and those that share a permit with one of them.
func (d *DB) ReleaseSeasons(ctx context.Context, site logbook.ID, year string) (out []logbook.ID, err error) {
	err = d.read(ctx, "list seasons with releases", func(c *conn) error {
		return c.each(ctx, func(r row) error { out = append(out, logbook.ID(r.text(0))); return nil },
			`WITH gone AS (SELECT DISTINCT season_num FROM event WHERE kind = 'release' AND voided = 0 AND permit >= ''
				AND on_date BETWEEN ?2 || '-01-01' AND ?2 || '-12-31')
			SELECT season.id FROM season JOIN tank ON tank.id = tank_id WHERE (?1 = '' OR site_id = ?1) AND num IN (
				SELECT season_num FROM gone UNION SELECT num FROM season WHERE permit_id IN (
					SELECT permit_id FROM season JOIN gone ON season_num = num)) ORDER BY num`, site, year)
	})
	return out, err
}
