package store

import (
	"context"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

const (
	lotCols = "id, code, species, supplier, stock, fertilised_on, egg_diameter_mm, note, by_role, by_label, changed_at"
	lotRead = "lot.id, lot.code, species, supplier, stock, fertilised_on, egg_diameter_mm, lot.note, lot.revision, lot.edits"
)

func readLot(r row) logbook.Lot {
	return logbook.Lot{ID: logbook.ID(r.text(0)), Code: r.text(1), Species: logbook.Species(r.text(2)),
		Supplier: r.text(3),
		Stock:    r.text(4), FertilisedOn: r.date(5), EggDiameter: optReal[units.Millimetres](r, 6), Note: r.text(7),
		Revision: r.int(8), Edits: r.int(9)}
}

// CreateLot stores a new lot of eggs.
func (d *DB) CreateLot(ctx context.Context, actor logbook.Actor, l logbook.Lot, now time.Time,
	once IdempotencyKey) (logbook.Lot, error) {
	err := d.write(ctx, "create lot", func(c *conn) error {
		return once.do(ctx, c, actor, now, &l.ID, func() error { return c.createLot(ctx, actor, &l, now) },
			func() (err error) { l, err = c.lot(ctx, l.ID); return err })
	})
	return l, err
}

func (c *conn) createLot(ctx context.Context, actor logbook.Actor, l *logbook.Lot, now time.Time) error {
	if err := newID(&l.ID); err != nil {
		return err
	}
	l.Revision, l.Edits = 1, 1
	return c.insert(ctx, "lot", lotCols, l.ID, l.Code, l.Species, l.Supplier, l.Stock, l.FertilisedOn,
		null(l.EggDiameter), l.Note,
		actor.Role, actor.Label, now.Unix())
}

// UpdateLot changes a lot; l.Edits is the number the edit started from.
func (d *DB) UpdateLot(ctx context.Context, actor logbook.Actor, l logbook.Lot, now time.Time) (logbook.Lot, error) {
	err := d.write(ctx, "update lot", func(c *conn) error {
		if err := c.ownLot(ctx, actor, l.ID, "error.lot.shared"); err != nil {
			return err
		}
		if err := c.checkRevision(ctx, "lot", "SELECT edits FROM lot WHERE id = ?", l.ID, l.Edits); err != nil {
			return err
		}
		if _, err := c.exec(ctx, `UPDATE lot SET code = ?, species = ?, supplier = ?, stock = ?, fertilised_on = ?, egg_diameter_mm = ?,
			note = ?, by_role = ?, by_label = ?, changed_at = ?, edits = edits + 1, revision = revision + 1 WHERE id = ?`,
			l.Code, l.Species, l.Supplier, l.Stock, l.FertilisedOn, null(l.EggDiameter), l.Note,
			actor.Role, actor.Label, now.Unix(), l.ID); err != nil {
			return err
		}
		if _, err := c.exec(ctx, "UPDATE season SET revision = revision + 1 WHERE lot_id = ?", l.ID); err != nil {
			return err
		}
		var err error
		l, err = c.lot(ctx, l.ID)
		return err
	})
	return l, err
}

// usedElsewhere is true of a lot that is, or was, in a tank of another school than ?1.
const usedElsewhere = "EXISTS (SELECT 1 FROM season JOIN tank ON tank.id = tank_id WHERE lot_id = lot.id AND site_id <> ?1)"

// ownLot refuses, with the key given, what a keeper does with a lot that is in tanks
// of other schools: a change of it, and another tank on it, would move their
// forecasts and flags, and take the lot out of their hands. Sharing one is the
// coordinator's act.
func (c *conn) ownLot(ctx context.Context, actor logbook.Actor, id logbook.ID, key string) error {
	if actor.Role == logbook.Coordinator {
		return nil
	}
	elsewhere, err := c.one(ctx, func(row) error { return nil },
		"SELECT 1 FROM lot WHERE "+usedElsewhere+" AND id = ?2", actor.SiteID, id)
	if err == nil && elsewhere {
		err = logbook.Errorf(logbook.Forbidden, key, nil)
	}
	return err
}

// Lot returns one lot.
func (d *DB) Lot(ctx context.Context, id logbook.ID) (l logbook.Lot, err error) {
	err = d.read(ctx, "read lot", func(c *conn) (err error) { l, err = c.lot(ctx, id); return err })
	return l, err
}

func (c *conn) lot(ctx context.Context, id logbook.ID) (l logbook.Lot, err error) {
	found, err := c.one(ctx, func(r row) error { l = readLot(r); return nil }, "SELECT "+lotRead+
		" FROM lot WHERE id = ?", id)
	if err == nil && !found {
		err = logbook.Missing("lot")
	}
	return l, err
}

// Lots lists the lots by code.
func (d *DB) Lots(ctx context.Context) ([]logbook.Lot, error) {
	var out []logbook.Lot
	err := d.read(ctx, "list lots", func(c *conn) error {
		return c.each(ctx, func(r row) error { out = append(out, readLot(r)); return nil },
			"SELECT "+lotRead+" FROM lot ORDER BY code COLLATE by_number, id")
	})
	return out, err
}

// LotsFor lists, by code, the lots that the actor may put in a tank.
func (d *DB) LotsFor(ctx context.Context, actor logbook.Actor) ([]logbook.Lot, error) {
	var out []logbook.Lot
	err := d.read(ctx, "list lots", func(c *conn) error {
		return c.each(ctx, func(r row) error { out = append(out, readLot(r)); return nil },
			"SELECT "+lotRead+" FROM lot WHERE ?2 OR NOT "+usedElsewhere+" ORDER BY code COLLATE by_number, id",
			actor.SiteID, actor.Role == logbook.Coordinator)
	})
	return out, err
}
