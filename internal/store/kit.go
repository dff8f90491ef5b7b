package store

import (
	"context"
	"strings"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

const kitRead = "id, site_id, name, basis, step_mg_l, received_at, by_role, by_label, revision, reason, 0, changed_at, changed_role, changed_label"

// Kit returns the ammonia kit of a site; one that nobody told of is not Known.
func (d *DB) Kit(ctx context.Context, site logbook.ID) (k logbook.Kit, err error) {
	err = d.read(ctx, "read kit", func(c *conn) (err error) { k, err = c.kit(ctx, site); return err })
	return k, err
}

func (c *conn) kit(ctx context.Context, site logbook.ID) (k logbook.Kit, err error) {
	k.SiteID = site
	_, err = c.one(ctx, func(r row) error {
		k = logbook.Kit{ID: logbook.ID(r.text(0)), SiteID: logbook.ID(r.text(1)), Name: r.text(2),
			Basis: logbook.KitBasis(r.text(3)),
			Step:  optReal[units.MgPerL](r, 4), Entry: readEntry(r[5:])}
		return nil
	}, "SELECT "+kitRead+" FROM kit WHERE site_id = ?", site)
	return k, err
}

// SetKit tells the ammonia kit of a site. k.Revision is the revision the change
// started from, 0 for the first kit; a change needs a reason. The old kit stays in
// the history.
func (d *DB) SetKit(ctx context.Context, actor logbook.Actor, k logbook.Kit, reason string, now time.Time) (logbook.Kit,
	error) {
	err := d.write(ctx, "set kit", func(c *conn) error {
		if !actor.MaySee(k.SiteID) {
			return logbook.Missing("site")
		}
		have, err := c.kit(ctx, k.SiteID)
		if err != nil {
			return err
		}
		if have.Revision != k.Revision {
			return stale(have.Revision)
		}
		if have.ID == "" {
			k.ID, k.Entry = logbook.NewID(), newEntry(actor, now)
			return c.insert(ctx, "kit", "id, site_id, name, basis, step_mg_l, received_at, by_role, by_label, revision, reason, changed_at, changed_role, changed_label",
				k.ID, k.SiteID, k.Name, k.Basis, null(k.Step), k.ReceivedAt.Unix(), k.By, k.ByLabel, k.Revision,
				k.Reason, k.ChangedAt.Unix(), k.ChangedBy, k.ChangedLabel)
		}
		if strings.TrimSpace(reason) == "" {
			return logbook.Refuse([]logbook.Problem{{Field: "reason", Key: "error.reason"}})
		}
		k.ID, k.Entry = have.ID, next(have.Entry, actor, reason, false, now)
		_, err = c.exec(ctx, `UPDATE kit SET name = ?, basis = ?, step_mg_l = ?, revision = ?, reason = ?, changed_at = ?, changed_role = ?, changed_label = ?
			WHERE id = ?`, k.Name, k.Basis, null(k.Step), k.Revision, k.Reason, k.ChangedAt.Unix(), k.ChangedBy, k.ChangedLabel, k.ID)
		return err
	})
	return k, err
}
