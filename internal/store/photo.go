package store

import (
	"context"
	"strings"
	"time"

	"reddside/internal/logbook"
)

const photoRead = "id, on_date, alt, width_px, height_px, " + entryCols

func readPhoto(r row, season logbook.ID) logbook.Photo {
	return logbook.Photo{ID: logbook.ID(r.text(0)), SeasonID: season, On: r.date(1), Alt: r.text(2),
		Width: int(r.int(3)), Height: int(r.int(4)),
		Entry: readEntry(r[5:])}
}

// Photos lists the photographs of a season by day, those taken back left out.
func (d *DB) Photos(ctx context.Context, season logbook.ID) (out []logbook.Photo, err error) {
	err = d.read(ctx, "list photographs", func(c *conn) error {
		return c.each(ctx, func(r row) error { out = append(out, readPhoto(r, season)); return nil },
			"SELECT "+photoRead+" FROM photo WHERE season_num = (SELECT num FROM season WHERE id = ?) AND voided = 0 ORDER BY on_date, received_at, id", season)
	})
	return out, err
}

// Photo returns a photograph with its JPEG file; one that was taken back is not
// there.
func (d *DB) Photo(ctx context.Context, id logbook.ID) (p logbook.Photo, jpeg []byte, err error) {
	err = d.read(ctx, "read photograph", func(c *conn) error {
		found, err := c.one(ctx, func(r row) error {
			n := 5 + entryLen
			p = readPhoto(r, logbook.ID(r.text(n)))
			jpeg = append([]byte(nil), r.bytes(n+1)...)
			return nil
		}, "SELECT "+photoRead+", (SELECT id FROM season WHERE num = season_num), jpeg FROM photo WHERE id = ? AND voided = 0", id)
		if err == nil && !found {
			err = logbook.Missing("photo")
		}
		return err
	})
	return p, jpeg, err
}

// CreatePhoto stores a photograph. A season has at most logbook.MaxPhotos:
// photo.many.
func (d *DB) CreatePhoto(ctx context.Context, actor logbook.Actor, p logbook.Photo, jpeg []byte,
	now time.Time) (logbook.Photo, error) {
	err := d.write(ctx, "create photograph", func(c *conn) error {
		h, err := c.head(ctx, actor, p.SeasonID)
		if err != nil {
			return err
		}
		n := int64(0)
		if _, err := c.one(ctx, func(r row) error { n = r.int(0); return nil },
			"SELECT count(*) FROM photo WHERE season_num = ? AND voided = 0", h.num); err != nil {
			return err
		}
		if n >= logbook.MaxPhotos {
			return logbook.Refuse([]logbook.Problem{{Field: "photo", Key: "photo.many",
				Args: logbook.Args{"Max": logbook.MaxPhotos}}})
		}
		if err := newID(&p.ID); err != nil {
			return err
		}
		p.Entry = newEntry(actor, now)
		args := []any{h.num, p.ID, p.On, p.Alt, p.Width, p.Height}
		return c.insert(ctx, "photo", "season_num, "+photoRead+", jpeg", append(append(args, entryArgs(&p.Entry)...),
			jpeg)...)
	})
	return p, err
}

// RemovePhoto takes a photograph back with a reason. Its words stay, the picture
// itself is wiped: what should not be kept is not kept.
func (d *DB) RemovePhoto(ctx context.Context, actor logbook.Actor, id logbook.ID, reason string, now time.Time) error {
	return d.write(ctx, "remove photograph", func(c *conn) error {
		if strings.TrimSpace(reason) == "" {
			return logbook.Refuse([]logbook.Problem{{Field: "reason", Key: "error.reason"}})
		}
		var p logbook.Photo
		found, err := c.one(ctx, func(r row) error { p = readPhoto(r, logbook.ID(r.text(5+entryLen))); return nil },
			"SELECT "+photoRead+", (SELECT id FROM season WHERE num = season_num) FROM photo WHERE id = ?", id)
		if err == nil && (!found || p.Voided) {
			err = logbook.Missing("photo")
		}
		if err != nil {
			return err
		}
		if _, err := c.head(ctx, actor, p.SeasonID); err != nil {
			return err
		}
		e := next(p.Entry, actor, reason, true, now)
		_, err = c.exec(ctx, "UPDATE photo SET jpeg = x'', voided = 1, revision = ?, reason = ?, changed_at = ?, changed_role = ?, changed_label = ? WHERE id = ?",
			e.Revision, e.Reason, e.ChangedAt.Unix(), e.ChangedBy, e.ChangedLabel, id)
		return err
	})
}
