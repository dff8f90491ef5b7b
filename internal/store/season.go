package store

import (
	"context"
	"encoding/json"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// seasonHead is what a write needs to know of its season.
type seasonHead struct {
	num    int64
	siteID logbook.ID
	closed bool
}

// head finds a season that the actor may see.
func (c *conn) head(ctx context.Context, actor logbook.Actor, id logbook.ID) (h seasonHead, err error) {
	found, err := c.one(ctx, func(r row) error {
		h = seasonHead{num: r.int(0), siteID: logbook.ID(r.text(1)), closed: r[2] != nil}
		return nil
	}, "SELECT num, site_id, closed_on FROM season JOIN tank ON tank.id = tank_id WHERE season.id = ?", id)
	if err == nil && (!found || !actor.MaySee(h.siteID)) {
		err = logbook.Missing("season")
	}
	return h, err
}

// touch bumps the revision of a season and, by trigger, of its lot.
func (c *conn) touch(ctx context.Context, num int64) error {
	_, err := c.exec(ctx, "UPDATE season SET revision = revision + 1 WHERE num = ?", num)
	return err
}

// CreateSeason stores a new season from s.ID, Label, ClosedOn, the release
// days, Tank.ID and Lot.ID. A tank has one open season: error.season.open. Only a
// coordinator puts a lot of other schools in a tank: error.lot.elsewhere.
func (d *DB) CreateSeason(ctx context.Context, actor logbook.Actor, s logbook.Season, now time.Time,
	once IdempotencyKey) (*logbook.Season, error) {
	var out *logbook.Season
	err := d.write(ctx, "create season", func(c *conn) error {
		return once.do(ctx, c, actor, now, &s.ID, func() (err error) {
			if _, err = c.createSeason(ctx, actor, &s, now); err != nil {
				return err
			}
			out, err = c.season(ctx, s.ID)
			return err
		}, func() (err error) { out, err = c.season(ctx, s.ID); return err })
	})
	return out, err
}

func (c *conn) createSeason(ctx context.Context, actor logbook.Actor, s *logbook.Season, now time.Time) (num int64,
	err error) {
	if err := newID(&s.ID); err != nil {
		return 0, err
	}
	t, err := c.tank(ctx, s.Tank.ID)
	if err != nil {
		return 0, err
	}
	if !actor.MaySee(t.SiteID) {
		return 0, logbook.Missing("tank")
	}
	if _, err := c.lot(ctx, s.Lot.ID); err != nil {
		return 0, err
	}
	if err := c.ownLot(ctx, actor, s.Lot.ID, "error.lot.elsewhere"); err != nil {
		return 0, err
	}
	if s.ClosedOn.IsZero() {
		if err := c.noOpenSeason(ctx, t.ID, ""); err != nil {
			return 0, err
		}
	}
	if err := c.insert(ctx, "season", "id, label, tank_id, lot_id, closed_on, release_from_on, release_by_on, by_role, by_label, changed_at",
		s.ID, s.Label, s.Tank.ID, s.Lot.ID, s.ClosedOn, s.ReleaseFrom, s.ReleaseBy, actor.Role, actor.Label,
		now.Unix()); err != nil {
		return 0, err
	}
	if _, err := c.exec(ctx, "UPDATE lot SET revision = revision + 1 WHERE id = ?", s.Lot.ID); err != nil {
		return 0, err
	}
	_, err = c.one(ctx, func(r row) error { num = r.int(0); return nil }, "SELECT num FROM season WHERE id = ?", s.ID)
	return num, err
}

// noOpenSeason refuses a second open season of a tank.
func (c *conn) noOpenSeason(ctx context.Context, tank, but logbook.ID) error {
	var label string
	found, err := c.one(ctx, func(r row) error { label = r.text(0); return nil },
		"SELECT label FROM season WHERE tank_id = ? AND closed_on IS NULL AND id <> ?", tank, but)
	if err == nil && found {
		err = logbook.Errorf(logbook.Conflict, "error.season.open", logbook.Args{"Label": label})
	}
	return err
}

// UpdateSeason changes label, closing day and release days; s.Edits is the
// number the edit started from.
func (d *DB) UpdateSeason(ctx context.Context, actor logbook.Actor, s logbook.Season, now time.Time) (*logbook.Season,
	error) {
	var out *logbook.Season
	err := d.write(ctx, "update season", func(c *conn) error {
		h, err := c.head(ctx, actor, s.ID)
		if err != nil {
			return err
		}
		if err := c.checkRevision(ctx, "season", "SELECT edits FROM season WHERE id = ?", s.ID, s.Edits); err != nil {
			return err
		}
		if s.ClosedOn.IsZero() {
			var tank logbook.ID
			if _, err := c.one(ctx, func(r row) error { tank = logbook.ID(r.text(0)); return nil },
				"SELECT tank_id FROM season WHERE num = ?", h.num); err != nil {
				return err
			}
			if err := c.noOpenSeason(ctx, tank, s.ID); err != nil {
				return err
			}
		}
		if _, err := c.exec(ctx, `UPDATE season SET label = ?, closed_on = ?,
			release_from_on = iif(permit_id IS NULL, ?, release_from_on), release_by_on = iif(permit_id IS NULL, ?, release_by_on),
			by_role = ?, by_label = ?, changed_at = ?, edits = edits + 1, revision = revision + 1 WHERE num = ?`,
			s.Label, s.ClosedOn, s.ReleaseFrom, s.ReleaseBy, actor.Role, actor.Label, now.Unix(), h.num); err != nil {
			return err
		}
		out, err = c.season(ctx, s.ID)
		return err
	})
	return out, err
}

// SeasonFilter chooses seasons; empty fields choose all.
type SeasonFilter struct {
	SiteID   logbook.ID
	TankID   logbook.ID
	LotID    logbook.ID
	OpenOnly bool
	// LotMates adds every other season of the lots of the chosen ones.
	LotMates bool
	// LotIDs, when not nil, chooses the seasons of these lots.
	LotIDs []logbook.ID
}

// SeasonHead is the little that tells whether a season has changed.
type SeasonHead struct {
	ID, TankID, SiteID, LotID logbook.ID
	Label                     string
	Zone                      string // IANA name, of the site
	Revision, LotRevision     int64
	SetupRevision             int64 // changes with every edit of site or tank
	LotEdits                  int64 // changes with every edit of the lot's own details
	Closed                    bool
	Species                   logbook.Species
	Supplier                  string // of the lot
}

// SeasonHeads lists the chosen seasons by site and tank name, newest first in a
// tank. It reads no entries. With LotID it lists the siblings of a lot. Whole lots,
// which nobody reads as a list, come in the order of bytes: that takes half the time.
func (d *DB) SeasonHeads(ctx context.Context, f SeasonFilter) ([]SeasonHead, error) {
	where := `(?1 = '' OR site_id = ?1) AND (?2 = '' OR tank_id = ?2) AND (?3 = '' OR lot_id = ?3) AND (?4 = 0 OR closed_on IS NULL)`
	args := []any{f.SiteID, f.TankID, f.LotID, f.OpenOnly}
	if f.LotMates {
		where = "lot_id IN (SELECT lot_id FROM season JOIN tank ON tank.id = tank_id WHERE " + where + ")"
	}
	if f.LotIDs != nil {
		ids, err := json.Marshal(f.LotIDs)
		if err != nil {
			return nil, err
		}
		where += " AND lot_id IN (SELECT value FROM json_each(?5))"
		args = append(args, string(ids))
	}
	order := "site.name COLLATE by_number, site_id, tank.name COLLATE by_number, tank_id, season.num DESC"
	if f.LotMates || f.LotIDs != nil {
		order = "site.name, site_id, tank.name, tank_id, season.num DESC"
	}
	var out []SeasonHead
	err := d.read(ctx, "list seasons", func(c *conn) error {
		return c.each(ctx, func(r row) error {
			out = append(out, SeasonHead{ID: logbook.ID(r.text(0)), TankID: logbook.ID(r.text(1)),
				SiteID: logbook.ID(r.text(2)),
				LotID:  logbook.ID(r.text(3)), Label: r.text(4), Revision: r.int(5), LotRevision: r.int(6),
				Closed: r[7] != nil,
				Zone:   r.text(8), SetupRevision: r.int(9), Species: logbook.Species(r.text(10)), Supplier: r.text(11),
				LotEdits: r.int(12)})
			return nil
		}, `SELECT season.id, tank_id, site_id, lot_id, label, season.revision, lot.revision, closed_on,
				site.zone, site.revision + tank.revision, species, supplier, lot.edits
			FROM season JOIN tank ON tank.id = tank_id JOIN lot ON lot.id = lot_id JOIN site ON site.id = site_id
			WHERE `+where+" ORDER BY "+order, args...)
	})
	return out, err
}

// ClosedLot is a lot whose seasons have all ended.
type ClosedLot struct {
	ID       logbook.ID
	Code     string
	Species  logbook.Species
	Supplier string
	Revision int64
	ClosedOn civil.Date // end of its last season
}

// ClosedLots lists the lots with a known supplier whose seasons have all ended,
// oldest first.
func (d *DB) ClosedLots(ctx context.Context) ([]ClosedLot, error) {
	var out []ClosedLot
	err := d.read(ctx, "list closed lots", func(c *conn) error {
		return c.each(ctx, func(r row) error {
			out = append(out, ClosedLot{ID: logbook.ID(r.text(0)), Code: r.text(1), Species: logbook.Species(r.text(2)),
				Supplier: r.text(3), Revision: r.int(4), ClosedOn: r.date(5)})
			return nil
		}, `SELECT lot.id, code, species, supplier, lot.revision, max(closed_on) AS ended FROM lot JOIN season ON lot_id = lot.id
			WHERE trim(supplier) <> '' GROUP BY lot.id HAVING count(closed_on) = count(*) ORDER BY ended, lot.id`)
	})
	return out, err
}
