package store

import (
	"context"
	"encoding/json"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// DraftKind is a page that saves each step.
type DraftKind string

// The pages: a release belongs to a season, a delivery to a tank.
const (
	DraftRelease  DraftKind = "release"
	DraftDelivery DraftKind = "delivery"
)

// Draft is what was told so far. Revision is 0 when nothing was saved yet.
type Draft struct {
	Data      map[string]string
	Revision  int64
	ByLabel   string
	ChangedAt time.Time
}

func (c *conn) draft(ctx context.Context, kind DraftKind, subject logbook.ID) (x Draft, err error) {
	x.Data = map[string]string{}
	_, err = c.one(ctx, func(r row) error {
		x.Revision, x.ByLabel, x.ChangedAt = r.int(1), r.text(2), r.at(3)
		return json.Unmarshal([]byte(r.text(0)), &x.Data)
	}, "SELECT data, revision, by_label, changed_at FROM guided_draft WHERE kind = ? AND subject_id = ?", kind, subject)
	return x, err
}

// Draft returns what was told of a subject, empty when nothing was.
func (d *DB) Draft(ctx context.Context, kind DraftKind, subject logbook.ID) (x Draft, err error) {
	err = d.read(ctx, "read draft", func(c *conn) error { x, err = c.draft(ctx, kind, subject); return err })
	return x, err
}

// SaveDraft keeps what was told and returns its new revision. It is refused with
// error.stale when the stored revision is not from.
func (d *DB) SaveDraft(ctx context.Context, actor logbook.Actor, kind DraftKind, subject logbook.ID,
	data map[string]string, from int64, now time.Time) (int64, error) {
	err := d.write(ctx, "save draft", func(c *conn) error {
		if err := c.draftIs(ctx, kind, subject, from); err != nil {
			return err
		}
		body, err := json.Marshal(data)
		if err != nil {
			return err
		}
		_, err = c.exec(ctx, `INSERT INTO guided_draft (kind, subject_id, data, revision, by_label, changed_at) VALUES (?1, ?2, ?3, ?4, ?5, ?6)
			ON CONFLICT (kind, subject_id) DO UPDATE SET data = excluded.data, revision = excluded.revision,
				by_label = excluded.by_label, changed_at = excluded.changed_at`, kind, subject, string(body), from+1, actor.Label, now.Unix())
		return err
	})
	return from + 1, err
}

func (c *conn) draftIs(ctx context.Context, kind DraftKind, subject logbook.ID, revision int64) error {
	have, err := c.draft(ctx, kind, subject)
	if err == nil && have.Revision != revision {
		err = stale(have.Revision)
	}
	return err
}

func (c *conn) endDraft(ctx context.Context, kind DraftKind, subject logbook.ID) error {
	_, err := c.exec(ctx, "DELETE FROM guided_draft WHERE kind = ? AND subject_id = ?", kind, subject)
	return err
}

// FinishRelease stores the events of a release, the first of which record
// describes, closes the season on closeOn
// unless that is zero, and ends the draft, all or nothing. check judges the
// season as it is stored at that moment; its error stops everything.
func (d *DB) FinishRelease(ctx context.Context, actor logbook.Actor, season logbook.ID, draft int64,
	events []logbook.Event,
	record *logbook.ReleaseRecord, closeOn civil.Date, now time.Time, check func(*logbook.Season) error,
	after After) error {
	return d.write(ctx, "finish release", func(c *conn) error {
		if err := c.draftIs(ctx, DraftRelease, season, draft); err != nil {
			return err
		}
		h, err := c.head(ctx, actor, season)
		if err != nil {
			return err
		}
		s, err := c.season(ctx, season)
		if err != nil {
			return err
		}
		if err := check(s); err != nil {
			return err
		}
		for i := range events {
			e := events[i]
			e.SeasonID = season
			if err := newID(&e.ID); err != nil {
				return err
			}
			e.Entry = newEntry(actor, now)
			if err := eventTable.insert(ctx, c, h.num, &e); err != nil {
				return err
			}
			if i == 0 {
				record.EventID = e.ID
			}
		}
		record.ID, record.Entry = logbook.NewID(), newEntry(actor, now)
		if err := releaseTable.insert(ctx, c, h.num, record); err != nil {
			return err
		}
		if !closeOn.IsZero() {
			if _, err := c.exec(ctx, "UPDATE season SET closed_on = ?, by_role = ?, by_label = ?, changed_at = ?, edits = edits + 1 WHERE num = ?",
				closeOn, actor.Role, actor.Label, now.Unix(), h.num); err != nil {
				return err
			}
		}
		if err := c.endDraft(ctx, DraftRelease, season); err != nil {
			return err
		}
		_, err = c.after(ctx, actor, h, season, now, after, nil)
		return err
	})
}

// FinishDelivery starts a season with its first delivery, as StartSeason does, and
// ends the draft of its tank.
func (d *DB) FinishDelivery(ctx context.Context, actor logbook.Actor, s logbook.Season, first logbook.Delivery,
	draft int64, now time.Time) (*logbook.Season, error) {
	var out *logbook.Season
	err := d.write(ctx, "finish delivery", func(c *conn) error {
		if err := c.draftIs(ctx, DraftDelivery, s.Tank.ID, draft); err != nil {
			return err
		}
		num, err := c.createSeason(ctx, actor, &s, now)
		if err != nil {
			return err
		}
		first.SeasonID = s.ID
		if err := newID(&first.ID); err != nil {
			return err
		}
		first.Entry = newEntry(actor, now)
		if err := deliveryTable.insert(ctx, c, num, &first); err != nil {
			return err
		}
		if err := c.endDraft(ctx, DraftDelivery, s.Tank.ID); err != nil {
			return err
		}
		out, err = c.season(ctx, s.ID)
		return err
	})
	return out, err
}
