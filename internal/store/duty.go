package store

import (
	"context"
	"strings"
	"time"

	"reddside/internal/logbook"
)

const (
	dutyWho  = "sunday_who, monday_who, tuesday_who, wednesday_who, thursday_who, friday_who, saturday_who"
	dutyRead = "id, " + dutyWho + ", " + entryCols
	// dutyReason stands in the history of a list: a changed list needs no words.
	dutyReason = "duty list changed"

	coverRead = "id, from_on, to_on, who, note, " + entryCols
)

func readCover(r row, site logbook.ID) logbook.Cover {
	return logbook.Cover{ID: logbook.ID(r.text(0)), SiteID: site, From: r.date(1), To: r.date(2), Who: r.text(3),
		Note: r.text(4), Entry: readEntry(r[5:])}
}

// DutyList returns who looks after the tanks of a site: the week and the covers
// that stand, by date.
func (d *DB) DutyList(ctx context.Context, site logbook.ID) (logbook.DutyList, error) {
	l := logbook.DutyList{}
	err := d.read(ctx, "read duty list", func(c *conn) error {
		if err := c.dutyWeek(ctx, site, &l.Week); err != nil {
			return err
		}
		return c.each(ctx, func(r row) error { l.Covers = append(l.Covers, readCover(r, site)); return nil },
			"SELECT "+coverRead+" FROM cover WHERE site_id = ? AND voided = 0 ORDER BY from_on, received_at, id", site)
	})
	return l, err
}

func (c *conn) dutyWeek(ctx context.Context, site logbook.ID, w *logbook.DutyWeek) error {
	*w = logbook.DutyWeek{SiteID: site}
	_, err := c.one(ctx, func(r row) error {
		w.ID, w.Entry = logbook.ID(r.text(0)), readEntry(r[8:])
		for i := range w.Who {
			w.Who[i] = r.text(1 + i)
		}
		return nil
	}, "SELECT "+dutyRead+" FROM duty WHERE site_id = ?", site)
	return err
}

// SaveDutyWeek stores the week's list of a site; w.Revision is the one the edit
// started from, 0 for the first list. The same list again changes nothing.
func (d *DB) SaveDutyWeek(ctx context.Context, actor logbook.Actor, w logbook.DutyWeek,
	now time.Time) (logbook.DutyWeek, error) {
	err := d.write(ctx, "save duty list", func(c *conn) error {
		var have logbook.DutyWeek
		if err := c.siteSeen(ctx, actor, w.SiteID); err != nil {
			return err
		}
		if err := c.dutyWeek(ctx, w.SiteID, &have); err != nil {
			return err
		}
		switch {
		case have.Who == w.Who:
			w = have
			return nil
		case have.Revision != w.Revision:
			return stale(have.Revision)
		}
		who := make([]any, 0, len(w.Who))
		for _, x := range w.Who {
			who = append(who, x)
		}
		if have.ID == "" {
			w.ID, w.Entry = logbook.NewID(), newEntry(actor, now)
			args := append(append([]any{w.ID, w.SiteID}, who...), entryArgs(&w.Entry)...)
			return c.insert(ctx, "duty", "id, site_id, "+dutyWho+", "+entryCols, args...)
		}
		w.ID, w.Entry = have.ID, next(have.Entry, actor, dutyReason, false, now)
		set := strings.ReplaceAll(dutyWho+", "+entryCols, ",", " = ?,") + " = ?"
		_, err := c.exec(ctx, "UPDATE duty SET "+set+" WHERE id = ?", append(append(who, entryArgs(&w.Entry)...),
			w.ID)...)
		return err
	})
	return w, err
}

// siteSeen refuses a site that is not there for the actor.
func (c *conn) siteSeen(ctx context.Context, actor logbook.Actor, site logbook.ID) error {
	if !actor.MaySee(site) {
		return logbook.Missing("site")
	}
	_, err := c.site(ctx, site)
	return err
}

// CreateCover stores who looks on the days of a holiday.
func (d *DB) CreateCover(ctx context.Context, actor logbook.Actor, v logbook.Cover, now time.Time,
	once IdempotencyKey) (logbook.Cover, error) {
	err := d.write(ctx, "create cover", func(c *conn) error {
		return once.do(ctx, c, actor, now, &v.ID, func() error {
			if err := newID(&v.ID); err != nil {
				return err
			}
			if err := c.siteSeen(ctx, actor, v.SiteID); err != nil {
				return err
			}
			v.Entry = newEntry(actor, now)
			return c.insert(ctx, "cover", "id, site_id, from_on, to_on, who, note, "+entryCols,
				append([]any{v.ID, v.SiteID, v.From, v.To, v.Who, v.Note}, entryArgs(&v.Entry)...)...)
		}, func() (err error) { v, err = c.cover(ctx, actor, v.ID); return err })
	})
	return v, err
}

// cover reads one cover that stands and that the actor may see.
func (c *conn) cover(ctx context.Context, actor logbook.Actor, id logbook.ID) (v logbook.Cover, err error) {
	const site = 5 + entryLen
	found, err := c.one(ctx, func(r row) error { v = readCover(r, logbook.ID(r.text(site))); return nil },
		"SELECT "+coverRead+", site_id FROM cover WHERE id = ? AND voided = 0", id)
	if err == nil && (!found || !actor.MaySee(v.SiteID)) {
		err = logbook.Missing("cover")
	}
	return v, err
}

// UpdateCover changes a cover, or takes it back when void is set. v.Revision is
// the one the edit started from.
func (d *DB) UpdateCover(ctx context.Context, actor logbook.Actor, v logbook.Cover, void bool, reason string,
	now time.Time) (logbook.Cover, error) {
	err := d.write(ctx, "update cover", func(c *conn) error {
		if strings.TrimSpace(reason) == "" {
			return logbook.Refuse([]logbook.Problem{{Field: "reason", Key: "error.reason"}})
		}
		have, err := c.cover(ctx, actor, v.ID)
		if err != nil {
			return err
		}
		if have.Revision != v.Revision {
			return stale(have.Revision)
		}
		v.SiteID, v.Entry = have.SiteID, next(have.Entry, actor, reason, void, now)
		set := strings.ReplaceAll("from_on, to_on, who, note, "+entryCols, ",", " = ?,") + " = ?"
		_, err = c.exec(ctx, "UPDATE cover SET "+set+" WHERE id = ?",
			append(append([]any{v.From, v.To, v.Who, v.Note}, entryArgs(&v.Entry)...), v.ID)...)
		return err
	})
	return v, err
}
