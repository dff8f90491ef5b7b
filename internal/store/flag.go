package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// FlagOp is what a change does to a flag.
type FlagOp string

// Raise opens a flag, or gives an open one of the same rule and subject another
// kind or other arguments. Clear ends it.
const (
	Raise FlagOp = "raise"
	Clear FlagOp = "clear"
)

// FlagChange is one change in the life of a flag, decided by the rules.
type FlagChange struct {
	Op      FlagOp          `json:"op"`
	Rule    string          `json:"rule"`
	Subject string          `json:"subject,omitempty"` // tells flags of one rule apart
	Kind    string          `json:"kind,omitempty"`    // act, watch, due or note
	On      civil.Date      `json:"on"`                // the day at the site
	Args    json.RawMessage `json:"args,omitempty"`    // of the message; nil for none
}

// Flag is the stored life of a flag.
type Flag struct {
	ID, SeasonID   logbook.ID
	Rule, Subject  string
	Kind           string
	Args           json.RawMessage
	RaisedOn       civil.Date
	RaisedAt       time.Time
	SeenAt         time.Time // zero when nobody has seen it
	SeenBy         string
	SetAsideUntil  civil.Date // last day, included; zero when not set aside
	SetAsideReason string
	SetAsideBy     string
	ClearedOn      civil.Date // zero while open
	ClearedAt      time.Time
}

// Open reports whether the condition still holds.
func (f *Flag) Open() bool { return f.ClearedAt.IsZero() }

// After is called inside the transaction of a write with the season as it then
// is and its open flags; what it returns is applied in the same transaction.
// An error from it undoes the write.
type After func(s *logbook.Season, open []Flag) ([]FlagChange, error)

const flagCols = `flag.id, (SELECT id FROM season WHERE num = season_num), rule, subject, kind, args, raised_on, raised_at,
	seen_at, seen_by, set_aside_until, set_aside_reason, set_aside_by, cleared_on, cleared_at`

func readFlag(r row) Flag {
	return Flag{ID: logbook.ID(r.text(0)), SeasonID: logbook.ID(r.text(1)), Rule: r.text(2), Subject: r.text(3), Kind: r.text(4),
		Args: json.RawMessage(r.text(5)), RaisedOn: r.date(6), RaisedAt: r.at(7), SeenAt: r.at(8), SeenBy: r.text(9),
		SetAsideUntil: r.date(10), SetAsideReason: r.text(11), SetAsideBy: r.text(12), ClearedOn: r.date(13), ClearedAt: r.at(14)}
}

// after ends a write to a season: new revision, and the flags. When the write
// was one new row and nothing else, add puts it in its place in the season.
func (c *conn) after(ctx context.Context, actor logbook.Actor, h seasonHead, id logbook.ID, now time.Time, fn After,
	add func(*logbook.Season)) ([]FlagChange, error) {
	if err := c.touch(ctx, h.num); err != nil {
		return nil, err
	}
	if fn == nil {
		return nil, nil
	}
	var s *logbook.Season
	var err error
	if add != nil {
		s, err = c.grown(ctx, id, add)
	}
	if err == nil && s == nil {
		s, err = c.season(ctx, id)
	}
	if err != nil {
		return nil, err
	}
	return c.applyFlags(ctx, actor, h.num, s, now, fn)
}

// applyFlags asks fn and stores its changes. It returns those that changed a row.
func (c *conn) applyFlags(ctx context.Context, actor logbook.Actor, num int64, s *logbook.Season, now time.Time, fn After) ([]FlagChange, error) {
	open, err := c.openFlags(ctx, num)
	if err != nil {
		return nil, err
	}
	want, err := fn(s, open)
	if err != nil {
		return nil, err
	}
	type place struct{ rule, subject string }
	have := make(map[place]*Flag, len(open))
	for i := range open {
		have[place{open[i].Rule, open[i].Subject}] = &open[i]
	}
	var done []FlagChange
	for _, w := range want {
		p := place{w.Rule, w.Subject}
		f, changed, err := c.changeFlag(ctx, actor, num, have[p], w, now)
		if err != nil {
			return nil, fmt.Errorf("flag %s: %w", w.Rule, err)
		}
		have[p] = f
		if changed {
			done = append(done, w)
		}
	}
	return done, nil
}

// changeFlag applies one change to the open flag f, nil when there is none.
func (c *conn) changeFlag(ctx context.Context, actor logbook.Actor, num int64, f *Flag, w FlagChange, now time.Time) (*Flag, bool, error) {
	args := string(w.Args)
	if args == "" {
		args = "{}"
	}
	switch {
	case w.Op == Clear && f == nil:
		return nil, false, nil
	case w.Op == Clear:
		_, err := c.exec(ctx, `UPDATE flag SET cleared_on = ?, cleared_at = ?, step = 'cleared', step_at = ?, step_by = ? WHERE id = ?`,
			w.On, now.Unix(), now.Unix(), actor.Label, f.ID)
		return nil, true, err
	case w.Op == Raise && f == nil:
		f = &Flag{ID: logbook.NewID(), Rule: w.Rule, Subject: w.Subject, Kind: w.Kind, Args: json.RawMessage(args)}
		err := c.insert(ctx, "flag", "id, season_num, rule, subject, kind, args, raised_on, raised_at, step, step_at, step_by",
			f.ID, num, w.Rule, w.Subject, w.Kind, args, w.On, now.Unix(), "raised", now.Unix(), actor.Label)
		return f, true, err
	case w.Op == Raise && f.Kind == w.Kind && string(f.Args) == args:
		return f, false, nil
	case w.Op == Raise:
		_, err := c.exec(ctx, "UPDATE flag SET kind = ?, args = ?, step = 'changed', step_at = ?, step_by = ? WHERE id = ?",
			w.Kind, args, now.Unix(), actor.Label, f.ID)
		f.Kind, f.Args = w.Kind, json.RawMessage(args)
		return f, true, err
	}
	return f, false, errors.New("unknown change " + string(w.Op))
}

func (c *conn) openFlags(ctx context.Context, num int64) (out []Flag, err error) {
	err = c.each(ctx, func(r row) error { out = append(out, readFlag(r)); return nil },
		"SELECT "+flagCols+" FROM flag WHERE season_num = ? AND cleared_at IS NULL ORDER BY raised_at, flag.rowid", num)
	return out, err
}

// UpdateFlags lets the rules look at a season again when nothing was written,
// as on a new day.
func (d *DB) UpdateFlags(ctx context.Context, actor logbook.Actor, season logbook.ID, now time.Time, fn After) ([]FlagChange, error) {
	var out []FlagChange
	err := d.write(ctx, "update flags", func(c *conn) error {
		h, err := c.head(ctx, actor, season)
		if err != nil {
			return err
		}
		s, err := c.season(ctx, season)
		if err != nil {
			return err
		}
		if out, err = c.applyFlags(ctx, actor, h.num, s, now, fn); err != nil || len(out) == 0 {
			return err
		}
		return c.touch(ctx, h.num)
	})
	return out, err
}

// SeeFlag notes that somebody has seen a flag; it stays open. The first to see
// it stays on record.
func (d *DB) SeeFlag(ctx context.Context, actor logbook.Actor, id logbook.ID, now time.Time) (Flag, error) {
	return d.stepFlag(ctx, actor, id, func(c *conn, f *Flag) (bool, error) {
		if !f.SeenAt.IsZero() {
			return false, nil
		}
		_, err := c.exec(ctx, "UPDATE flag SET seen_at = ?, seen_by = ?, step = 'seen', step_at = ?, step_by = ? WHERE id = ?",
			now.Unix(), actor.Label, now.Unix(), actor.Label, id)
		return true, err
	})
}

// SetFlagAside rests a flag to the end of day until, with a reason.
func (d *DB) SetFlagAside(ctx context.Context, actor logbook.Actor, id logbook.ID, until civil.Date, reason string, now time.Time) (Flag, error) {
	if reason == "" {
		return Flag{}, logbook.Refuse([]logbook.Problem{{Field: "reason", Key: "error.reason"}})
	}
	return d.stepFlag(ctx, actor, id, func(c *conn, _ *Flag) (bool, error) {
		_, err := c.exec(ctx, `UPDATE flag SET set_aside_until = ?, set_aside_reason = ?, set_aside_by = ?,
			step = 'set_aside', step_at = ?, step_by = ? WHERE id = ?`, until, reason, actor.Label, now.Unix(), actor.Label, id)
		return true, err
	})
}

// stepFlag changes an open flag that the actor may see.
func (d *DB) stepFlag(ctx context.Context, actor logbook.Actor, id logbook.ID, fn func(c *conn, f *Flag) (bool, error)) (f Flag, err error) {
	err = d.write(ctx, "change flag", func(c *conn) error {
		f, err = c.flag(ctx, id)
		if err != nil {
			return err
		}
		h, err := c.head(ctx, actor, f.SeasonID)
		if err != nil {
			return logbook.Missing("flag")
		}
		if !f.Open() {
			return logbook.Errorf(logbook.Conflict, "error.flag.cleared", nil)
		}
		changed, err := fn(c, &f)
		if err != nil || !changed {
			return err
		}
		if err := c.touch(ctx, h.num); err != nil {
			return err
		}
		f, err = c.flag(ctx, id)
		return err
	})
	return f, err
}

func (c *conn) flag(ctx context.Context, id logbook.ID) (f Flag, err error) {
	found, err := c.one(ctx, func(r row) error { f = readFlag(r); return nil }, "SELECT "+flagCols+" FROM flag WHERE flag.id = ?", id)
	if err == nil && !found {
		err = logbook.Missing("flag")
	}
	return f, err
}

// Flags lists the flags of a season by the time they were raised, cleared ones
// too when all is set.
func (d *DB) Flags(ctx context.Context, season logbook.ID, all bool) ([]Flag, error) {
	var out []Flag
	err := d.read(ctx, "list flags", func(c *conn) error {
		return c.each(ctx, func(r row) error { out = append(out, readFlag(r)); return nil },
			"SELECT "+flagCols+` FROM flag WHERE season_num = (SELECT num FROM season WHERE id = ?1) AND (?2 OR cleared_at IS NULL)
			ORDER BY raised_at, flag.rowid`, season, all)
	})
	return out, err
}

// OpenFlags returns every open flag by season, for the board.
func (d *DB) OpenFlags(ctx context.Context) (map[logbook.ID][]Flag, error) {
	out := map[logbook.ID][]Flag{}
	err := d.read(ctx, "list open flags", func(c *conn) error {
		return c.each(ctx, func(r row) error { f := readFlag(r); out[f.SeasonID] = append(out[f.SeasonID], f); return nil },
			"SELECT "+flagCols+" FROM flag WHERE cleared_at IS NULL ORDER BY raised_at, flag.rowid")
	})
	return out, err
}
