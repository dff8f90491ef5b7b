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
	Why     string          `json:"why,omitempty"`     // of a Clear: one of rules.End
	In      string          `json:"in,omitempty"`      // the rule that took it over
}

// Flag is the stored life of a flag.
type Flag struct {
	ID, SeasonID  logbook.ID
	Rule, Subject string
	Kind          string
	Args          json.RawMessage
	RaisedOn      civil.Date
	RaisedAt      time.Time
	SeenAt        time.Time // zero when nobody has seen it
	SeenBy        string
	SeenKind      string     // the most urgent kind that has been seen; "" before 00005
	ShelvedUntil  civil.Date // last day, included; zero when not set aside
	ShelvedOnce   bool       // it also ends when the flag clears, and does not pass on to the next one
	ShelveReason  string
	ShelvedBy     string
	ShelvedKind   string     // the kind that was set aside
	ClearedOn     civil.Date // zero while open
	ClearedAt     time.Time
	EndWhy        string // why it ended, one of rules.End; "" while open, and before reasons were kept
	EndIn         string // the rule whose flag took it over
	Named         bool   // somebody said what was behind it
}

// Open reports whether the condition still holds.
func (f *Flag) Open() bool { return f.ClearedAt.IsZero() }

// ShelvedOn reports whether an open flag is set aside on a day.
func (f *Flag) ShelvedOn(d civil.Date) bool {
	return f.Open() && !f.ShelvedUntil.IsZero() && !f.ShelvedUntil.Before(d)
}

// ToSee reports whether somebody still has to look at the flag: it tells of
// something abnormal, and nobody has seen it. That it ended does not matter. What
// is expected (due and note) needs no eyes once it is over.
func (f *Flag) ToSee() bool { return f.SeenAt.IsZero() && (f.Kind == "act" || f.Kind == "watch") }

// After is called inside the transaction of a write with the season as it then
// is and its open flags; what it returns is applied in the same transaction.
// An error from it undoes the write.
type After func(s *logbook.Season, open []Flag) ([]FlagChange, error)

const flagCols = `flag.id, (SELECT id FROM season WHERE num = season_num), rule, subject, kind, args, raised_on, raised_at,
	seen_at, seen_by, set_aside_until, set_aside_reason, set_aside_by, cleared_on, cleared_at, seen_kind, set_aside_once, set_aside_kind,
	end_why, end_in, EXISTS (SELECT 1 FROM flag_finding WHERE flag_id = flag.id)`

const flagLen = 21

func readFlag(r row) Flag {
	return Flag{ID: logbook.ID(r.text(0)), SeasonID: logbook.ID(r.text(1)), Rule: r.text(2), Subject: r.text(3),
		Kind: r.text(4),
		Args: json.RawMessage(r.text(5)), RaisedOn: r.date(6), RaisedAt: r.at(7), SeenAt: r.at(8), SeenBy: r.text(9),
		ShelvedUntil: r.date(10), ShelveReason: r.text(11), ShelvedBy: r.text(12), ClearedOn: r.date(13),
		ClearedAt: r.at(14),
		SeenKind:  r.text(15), ShelvedOnce: r.flag(16), ShelvedKind: r.text(17),
		EndWhy: r.text(18), EndIn: r.text(19), Named: r.flag(20)}
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
func (c *conn) applyFlags(ctx context.Context, actor logbook.Actor, num int64, s *logbook.Season, now time.Time,
	fn After) ([]FlagChange, error) {
	open, err := c.openFlags(ctx, num)
	if err != nil {
		return nil, err
	}
	want, err := fn(s, open)
	if err != nil {
		return nil, err
	}
	c.judged = append(c.judged, s)
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
func (c *conn) changeFlag(ctx context.Context, actor logbook.Actor, num int64, f *Flag, w FlagChange,
	now time.Time) (*Flag, bool, error) {
	if len(w.Args) == 0 {
		w.Args = json.RawMessage("{}")
	}
	switch {
	case w.Op == Clear && f == nil:
		return nil, false, nil
	case w.Op == Clear:
		_, err := c.exec(ctx, `UPDATE flag SET cleared_on = ?, cleared_at = ?, end_why = ?, end_in = ?, step = 'cleared', step_at = ?, step_by = ?,
			step_role = ? WHERE id = ?`, w.On, now.Unix(), w.Why, w.In, now.Unix(), actor.Label, actor.Role, f.ID)
		return nil, true, err
	case w.Op == Raise && f == nil:
		f, err := c.raiseFlag(ctx, actor, num, w, now)
		return f, true, err
	case w.Op == Raise && f.Kind == w.Kind && string(f.Args) == string(w.Args):
		return f, false, nil
	case w.Op == Raise:
		return f, true, c.turnFlag(ctx, actor, f, w, now)
	}
	return f, false, errors.New("unknown change " + string(w.Op))
}

// raiseFlag stores a new flag. When the one before it was set aside to a day that
// is not over, the new one is at rest too, unless it is more urgent: a flag that
// comes and goes does not repeat itself meanwhile.
func (c *conn) raiseFlag(ctx context.Context, actor logbook.Actor, num int64, w FlagChange, now time.Time) (*Flag,
	error) {
	var before Flag
	rests, err := c.one(ctx, func(r row) error { before = readFlag(r); return nil }, "SELECT "+flagCols+` FROM flag
		WHERE season_num = ? AND rule = ? AND subject = ? ORDER BY cleared_at DESC, flag.rowid DESC LIMIT 1`, num, w.Rule, w.Subject)
	if err != nil {
		return nil, err
	}
	rests = rests && !before.ShelvedOnce && !before.ShelvedUntil.IsZero() && !before.ShelvedUntil.Before(w.On) &&
		urgency(w.Kind) >= urgency(before.ShelvedKind)
	f := &Flag{ID: logbook.NewID(), Rule: w.Rule, Subject: w.Subject, Kind: w.Kind, Args: w.Args}
	err = c.insert(ctx, "flag", "id, season_num, rule, subject, kind, args, raised_on, raised_at, step, step_at, step_by, step_role",
		f.ID, num, w.Rule, w.Subject, w.Kind, string(w.Args), w.On, now.Unix(), "raised", now.Unix(), actor.Label,
		actor.Role)
	if err != nil || !rests {
		return f, err
	}
	_, err = c.exec(ctx, `UPDATE flag SET seen_at = ?, seen_by = ?, seen_kind = ?, set_aside_until = ?, set_aside_reason = ?, set_aside_by = ?,
		set_aside_kind = ?, step = 'aside_goes_on', step_at = ?, step_by = ?, step_role = ? WHERE id = ?`,
		nullTime(before.SeenAt), before.SeenBy, before.SeenKind, before.ShelvedUntil, before.ShelveReason,
		before.ShelvedBy,
		before.ShelvedKind, now.Unix(), actor.Label, actor.Role, f.ID)
	return f, err
}

// turnFlag gives an open flag another kind or other arguments. When it becomes
// more urgent than what was seen or set aside, that is news: it is to be seen
// again, and is set aside no more.
func (c *conn) turnFlag(ctx context.Context, actor logbook.Actor, f *Flag, w FlagChange, now time.Time) error {
	seen := f.SeenKind == "" || urgency(w.Kind) >= urgency(f.SeenKind)
	aside := f.ShelvedUntil.IsZero() || urgency(w.Kind) >= urgency(f.ShelvedKind)
	_, err := c.exec(ctx, `UPDATE flag SET kind = ?1, args = ?2, seen_at = iif(?3, seen_at, NULL), seen_by = iif(?3, seen_by, ''),
		seen_kind = iif(?3, seen_kind, ''), set_aside_until = iif(?4, set_aside_until, NULL), set_aside_once = iif(?4, set_aside_once, 0),
		set_aside_reason = iif(?4, set_aside_reason, ''), set_aside_by = iif(?4, set_aside_by, ''), set_aside_kind = iif(?4, set_aside_kind, ''),
		step = 'changed', step_at = ?5, step_by = ?6, step_role = ?7 WHERE id = ?8`,
		w.Kind, string(w.Args), seen, aside, now.Unix(), actor.Label, actor.Role, f.ID)
	f.Kind, f.Args = w.Kind, w.Args
	return err
}

// urgency orders the kinds, most urgent first.
func urgency(kind string) int {
	for i, k := range []string{"act", "watch", "due", "note"} {
		if k == kind {
			return i
		}
	}
	return 4
}

// OnJudged has fn called with each season that an After was called with, the same
// one, once the transaction that asked is committed. It is set before the first
// write.
func (d *DB) OnJudged(fn func(*logbook.Season)) { d.onJudged = fn }

func (c *conn) openFlags(ctx context.Context, num int64) (out []Flag, err error) {
	err = c.each(ctx, func(r row) error { out = append(out, readFlag(r)); return nil },
		"SELECT "+flagCols+" FROM flag WHERE season_num = ? AND cleared_at IS NULL ORDER BY raised_at, flag.rowid", num)
	return out, err
}

// UpdateFlags lets the rules look at a season again when nothing was written,
// as on a new day.
func (d *DB) UpdateFlags(ctx context.Context, actor logbook.Actor, season logbook.ID, now time.Time,
	fn After) ([]FlagChange, error) {
	// Judging a long season takes time: it is done before anybody has to wait.
	var s *logbook.Season
	var open []Flag
	if err := d.read(ctx, "read flags", func(c *conn) error {
		h, err := c.head(ctx, actor, season)
		if err != nil {
			return err
		}
		if s, err = c.season(ctx, season); err != nil {
			return err
		}
		open, err = c.openFlags(ctx, h.num)
		return err
	}); err != nil {
		return nil, err
	}
	want, err := fn(s, open)
	if err != nil {
		return nil, err
	}
	var out []FlagChange
	err = d.write(ctx, "update flags", func(c *conn) error {
		h, err := c.head(ctx, actor, season)
		if err != nil {
			return err
		}
		judge := func(*logbook.Season, []Flag) ([]FlagChange, error) { return want, nil }
		if revision, _, err := c.revisions(ctx, season); err != nil {
			return err
		} else if revision != s.Revision { // somebody wrote to it meanwhile
			if s, err = c.season(ctx, season); err != nil {
				return err
			}
			judge = fn
		}
		if out, err = c.applyFlags(ctx, actor, h.num, s, now, judge); err != nil || len(out) == 0 {
			return err
		}
		return c.touch(ctx, h.num)
	})
	return out, err
}
