package store

import (
	"context"
	"time"

	"reddside/internal/logbook"
)

// CalendarToken is the secret address of the calendar of a site.
type CalendarToken struct {
	ID        logbook.ID
	SiteID    logbook.ID
	CreatedAt time.Time
	CreatedBy string
}

// CreateCalendarToken stores an address by the SHA-256 (hex) of its secret.
func (d *DB) CreateCalendarToken(ctx context.Context, actor logbook.Actor, site logbook.ID, hash string,
	now time.Time) error {
	return d.write(ctx, "create calendar address", func(c *conn) error {
		if _, err := c.site(ctx, site); err != nil {
			return err
		}
		return c.insert(ctx, "calendar_token", "id, site_id, token_hash, created_at, created_by", logbook.NewID(), site,
			hash, now.Unix(), actor.Label)
	})
}

// CalendarSite returns the site whose calendar a secret opens, or NotFound.
func (d *DB) CalendarSite(ctx context.Context, hash string) (site logbook.ID, err error) {
	err = d.read(ctx, "read calendar address", func(c *conn) error {
		found, err := c.one(ctx, func(r row) error { site = logbook.ID(r.text(0)); return nil },
			"SELECT site_id FROM calendar_token WHERE token_hash = ? AND revoked_at IS NULL", hash)
		if err == nil && !found {
			err = logbook.Missing("calendar")
		}
		return err
	})
	return site, err
}

// CalendarTokens lists the addresses of a site that work, newest first.
func (d *DB) CalendarTokens(ctx context.Context, site logbook.ID) ([]CalendarToken, error) {
	var out []CalendarToken
	err := d.read(ctx, "list calendar addresses", func(c *conn) error {
		return c.each(ctx, func(r row) error {
			out = append(out, CalendarToken{ID: logbook.ID(r.text(0)), SiteID: site, CreatedAt: r.at(1),
				CreatedBy: r.text(2)})
			return nil
		}, "SELECT id, created_at, created_by FROM calendar_token WHERE site_id = ? AND revoked_at IS NULL ORDER BY created_at DESC, id", site)
	})
	return out, err
}

// RevokeCalendarToken ends an address of a site for good.
func (d *DB) RevokeCalendarToken(ctx context.Context, site, id logbook.ID, now time.Time) error {
	return d.changeOne(ctx, "calendar", "UPDATE calendar_token SET revoked_at = coalesce(revoked_at, ?) WHERE id = ? AND site_id = ?", now.Unix(), id, site)
}
