package store

import (
	"context"
	"strings"
	"time"

	"reddside/internal/logbook"
)

const spanRead = "id, from_on, to_on, label, revision"

func readSpan(r row) logbook.ClosedSpan {
	return logbook.ClosedSpan{ID: logbook.ID(r.text(0)), From: r.date(1), To: r.date(2), Reason: r.text(3),
		Revision: r.int(4)}
}

// CreateClosedSpan stores days on which nobody looks at the tanks of a site.
func (d *DB) CreateClosedSpan(ctx context.Context, actor logbook.Actor, site logbook.ID, v logbook.ClosedSpan,
	now time.Time, once IdempotencyKey) (logbook.ClosedSpan, error) {
	err := d.write(ctx, "create closed days", func(c *conn) error {
		return once.do(ctx, c, actor, now, &v.ID, func() error {
			if err := newID(&v.ID); err != nil {
				return err
			}
			if !actor.MaySee(site) {
				return logbook.Missing("site")
			}
			if _, err := c.site(ctx, site); err != nil {
				return err
			}
			e := newEntry(actor, now)
			v.Revision = 1
			if err := c.insert(ctx, "closed_span", "id, site_id, from_on, to_on, label, "+entryCols,
				append([]any{v.ID, site, v.From, v.To, v.Reason}, entryArgs(&e)...)...); err != nil {
				return err
			}
			return c.touchSite(ctx, site)
		}, func() error { return c.span(ctx, v.ID, &v) })
	})
	return v, err
}

func (c *conn) span(ctx context.Context, id logbook.ID, v *logbook.ClosedSpan) error {
	found, err := c.one(ctx, func(r row) error { *v = readSpan(r); return nil }, "SELECT "+spanRead+
		" FROM closed_span WHERE id = ?", id)
	if err == nil && !found {
		err = logbook.Missing("closed_span")
	}
	return err
}

// UpdateClosedSpan changes closed days, or takes them back when void is set.
// v.Revision is the one the edit started from.
func (d *DB) UpdateClosedSpan(ctx context.Context, actor logbook.Actor, v logbook.ClosedSpan, void bool, reason string,
	now time.Time) (logbook.ClosedSpan, error) {
	err := d.write(ctx, "update closed days", func(c *conn) error {
		if strings.TrimSpace(reason) == "" {
			return logbook.Refuse([]logbook.Problem{{Field: "reason", Key: "error.reason"}})
		}
		var site logbook.ID
		var have int64
		found, err := c.one(ctx, func(r row) error { site, have = logbook.ID(r.text(0)), r.int(1); return nil },
			"SELECT site_id, revision FROM closed_span WHERE id = ? AND voided = 0", v.ID)
		switch {
		case err != nil:
			return err
		case !found || !actor.MaySee(site):
			return logbook.Missing("closed_span")
		case have != v.Revision:
			return stale(have)
		}
		v.Revision++
		if _, err := c.exec(ctx, `UPDATE closed_span SET from_on = ?, to_on = ?, label = ?, revision = ?, reason = ?, voided = ?,
			changed_at = ?, changed_role = ?, changed_label = ? WHERE id = ?`,
			v.From, v.To, v.Reason, v.Revision, reason, void, now.Unix(), actor.Role, actor.Label, v.ID); err != nil {
			return err
		}
		return c.touchSite(ctx, site)
	})
	return v, err
}

// ClosedSpans lists the closed days of a site by date.
func (d *DB) ClosedSpans(ctx context.Context, site logbook.ID) ([]logbook.ClosedSpan, error) {
	var out []logbook.ClosedSpan
	err := d.read(ctx, "list closed days", func(c *conn) error {
		return c.each(ctx, func(r row) error { out = append(out, readSpan(r)); return nil },
			"SELECT "+spanRead+" FROM closed_span WHERE site_id = ? AND voided = 0 ORDER BY from_on, id", site)
	})
	return out, err
}
