package store

import (
	"context"
	"encoding/json"
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// SeeFlag notes that somebody has seen a flag; it stays open, or stays ended. The
// first to see it stays on record.
func (d *DB) SeeFlag(ctx context.Context, actor logbook.Actor, id logbook.ID, now time.Time) (Flag, error) {
	return d.stepFlag(ctx, actor, id, func(c *conn, f *Flag) (bool, error) {
		if !f.SeenAt.IsZero() {
			return false, nil
		}
		return true, c.see(ctx, actor, f, now)
	})
}

func (c *conn) see(ctx context.Context, actor logbook.Actor, f *Flag, now time.Time) error {
	_, err := c.exec(ctx, "UPDATE flag SET seen_at = ?, seen_by = ?, seen_kind = ?, step = 'seen', step_at = ?, step_by = ?, step_role = ? WHERE id = ?",
		now.Unix(), actor.Label, f.Kind, now.Unix(), actor.Label, actor.Role, f.ID)
	return err
}

// Aside is a request to set a flag aside.
type Aside struct {
	Until  civil.Date // last day, included; the caller keeps to what the rule allows
	Once   bool       // until the flag next clears, at the latest Until
	Reason string     // never blank
}

// ShelveFlag rests a flag to the end of a day, with a reason. Whoever sets it
// aside has seen it.
func (d *DB) ShelveFlag(ctx context.Context, actor logbook.Actor, id logbook.ID, a Aside, now time.Time) (Flag, error) {
	if a.Reason = strings.TrimSpace(a.Reason); a.Reason == "" {
		return Flag{}, logbook.Refuse([]logbook.Problem{{Field: "reason", Key: "error.reason"}})
	}
	return d.stepFlag(ctx, actor, id, func(c *conn, f *Flag) (bool, error) {
		if !f.Open() {
			return false, ended()
		}
		if f.SeenAt.IsZero() {
			f.SeenAt, f.SeenBy = now, actor.Label
		}
		if f.SeenKind == "" || urgency(f.Kind) < urgency(f.SeenKind) {
			f.SeenKind = f.Kind
		}
		_, err := c.exec(ctx, `UPDATE flag SET seen_at = ?, seen_by = ?, seen_kind = ?, set_aside_until = ?, set_aside_once = ?, set_aside_reason = ?,
			set_aside_by = ?, set_aside_kind = kind, step = 'set_aside', step_at = ?, step_by = ?, step_role = ? WHERE id = ?`,
			f.SeenAt.Unix(), f.SeenBy, f.SeenKind, a.Until, a.Once, a.Reason, actor.Label, now.Unix(), actor.Label,
			actor.Role, id)
		return true, err
	})
}

// UnshelveFlag ends the rest of a flag before its time.
func (d *DB) UnshelveFlag(ctx context.Context, actor logbook.Actor, id logbook.ID, now time.Time) (Flag, error) {
	return d.stepFlag(ctx, actor, id, func(c *conn, f *Flag) (bool, error) {
		if !f.Open() {
			return false, ended()
		}
		if f.ShelvedUntil.IsZero() {
			return false, nil
		}
		_, err := c.exec(ctx, `UPDATE flag SET set_aside_until = NULL, set_aside_once = 0, set_aside_reason = '', set_aside_by = '',
			set_aside_kind = '', step = 'aside_ended', step_at = ?, step_by = ?, step_role = ? WHERE id = ?`,
			now.Unix(), actor.Label, actor.Role, id)
		return true, err
	})
}

func ended() error { return logbook.Errorf(logbook.Conflict, "error.flag.cleared", nil) }

// stepFlag changes a flag that the actor may see.
func (d *DB) stepFlag(ctx context.Context, actor logbook.Actor, id logbook.ID,
	fn func(c *conn, f *Flag) (bool, error)) (f Flag, err error) {
	err = d.write(ctx, "change flag", func(c *conn) error {
		f, err = c.flag(ctx, id)
		if err != nil {
			return err
		}
		h, err := c.head(ctx, actor, f.SeasonID)
		if err != nil {
			return logbook.Missing("flag")
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
	found, err := c.one(ctx, func(r row) error { f = readFlag(r); return nil }, "SELECT "+flagCols+
		" FROM flag WHERE flag.id = ?", id)
	if err == nil && !found {
		err = logbook.Missing("flag")
	}
	return f, err
}

// FlagStep is one step in the life of a flag, as it was then.
type FlagStep struct {
	FlagID        logbook.ID
	SeasonID      logbook.ID
	Zone          string // of the site
	Rule, Subject string
	Step          string // raised, changed, seen, set_aside, aside_ended, aside_goes_on, cleared
	At            time.Time
	By            string
	Role          logbook.Role // "" for steps older than the record of roles
	Kind          string
	Args          json.RawMessage
	Until         civil.Date // set aside to this day
	Once          bool       // until it next clears
	Reason        string
	EndWhy, EndIn string // of the step cleared
}

// FlagSteps lists the steps of the flags of a season, or of all seasons that the
// actor may see when season is "", oldest first, from a time on.
func (d *DB) FlagSteps(ctx context.Context, actor logbook.Actor, season logbook.ID, from time.Time) ([]FlagStep,
	error) {
	var out []FlagStep
	err := d.read(ctx, "list steps of flags", func(c *conn) error {
		return c.each(ctx, func(r row) error {
			var kept struct {
				Kind   string          `json:"kind"`
				Args   json.RawMessage `json:"args"`
				Until  civil.Date      `json:"set_aside_until"`
				Once   int             `json:"set_aside_once"`
				Reason string          `json:"set_aside_reason"`
				Why    string          `json:"end_why"`
				In     string          `json:"end_in"`
			}
			if err := json.Unmarshal([]byte(r.text(8)), &kept); err != nil {
				return err
			}
			out = append(out, FlagStep{FlagID: logbook.ID(r.text(0)), SeasonID: logbook.ID(r.text(1)), Rule: r.text(2),
				Subject: r.text(3),
				Step:    r.text(4), At: r.at(5), By: r.text(6), Role: logbook.Role(r.text(7)),
				Kind: kept.Kind, Args: kept.Args, Until: kept.Until, Once: kept.Once == 1, Reason: kept.Reason,
				EndWhy: kept.Why, EndIn: kept.In, Zone: r.text(9)})
			return nil
		}, `SELECT flag_id, season.id, rule, subject, h.step, h.step_at, h.step_by, h.step_role, row_json, site.zone
			FROM flag_history h JOIN flag ON flag.id = flag_id JOIN season ON season.num = season_num JOIN tank ON tank.id = tank_id
			JOIN site ON site.id = site_id
			WHERE (?1 = '' OR season.id = ?1) AND (?2 = '' OR site_id = ?2) AND h.step_at >= ?3 ORDER BY h.num`, season, actor.SiteID, from.Unix())
	})
	return out, err
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
		return c.each(ctx, func(r row) error {
			f := readFlag(r)
			out[f.SeasonID] = append(out[f.SeasonID],
				f)
			return nil
		},
			"SELECT "+flagCols+" FROM flag WHERE cleared_at IS NULL ORDER BY raised_at, flag.rowid")
	})
	return out, err
}

// LiveFlags returns, by season, the flags of some seasons that are open, and the act
// flags that are over and that nobody has named.
func (d *DB) LiveFlags(ctx context.Context, seasons []logbook.ID) (map[logbook.ID][]Flag, error) {
	ids, err := json.Marshal(seasons)
	if err != nil {
		return nil, err
	}
	out := map[logbook.ID][]Flag{}
	err = d.read(ctx, "list flags of seasons", func(c *conn) error {
		return c.each(ctx, func(r row) error { f := readFlag(r); out[f.SeasonID] = append(out[f.SeasonID], f); return nil },
			"SELECT "+flagCols+` FROM flag WHERE season_num IN (SELECT num FROM season WHERE id IN (SELECT value FROM json_each(?)))
			AND (cleared_at IS NULL OR kind = 'act' AND NOT EXISTS (SELECT 1 FROM flag_finding WHERE flag_id = flag.id))
			ORDER BY cleared_at IS NOT NULL, raised_at, flag.rowid`, string(ids))
	})
	return out, err
}

// FlagFilter chooses flags of the whole programme. Times are of raising.
type FlagFilter struct {
	SiteID logbook.ID // "" for all
	From   time.Time  // flags open at this time or raised later; zero for all
}

// PlacedFlag is a flag with where it is.
type PlacedFlag struct {
	Flag
	Site logbook.ID
	// Names for people.
	SiteName, TankName, SeasonLabel string
	Zone                            string
}

// PlacedFlags lists flags of all seasons, newest first.
func (d *DB) PlacedFlags(ctx context.Context, by FlagFilter) ([]PlacedFlag, error) {
	const n = flagLen
	var out []PlacedFlag
	from := int64(0)
	if !by.From.IsZero() {
		from = by.From.Unix()
	}
	err := d.read(ctx, "list flags of the programme", func(c *conn) error {
		return c.each(ctx, func(r row) error {
			out = append(out, PlacedFlag{Flag: readFlag(r), Site: logbook.ID(r.text(n)), SiteName: r.text(n + 1),
				TankName:    r.text(n + 2),
				SeasonLabel: r.text(n + 3), Zone: r.text(n + 4)})
			return nil
		}, "SELECT "+flagCols+`, site.id, site.name, tank.name, season.label, site.zone FROM flag JOIN season ON season.num = season_num
			JOIN tank ON tank.id = tank_id JOIN site ON site.id = site_id
			WHERE (?1 = '' OR site.id = ?1) AND (cleared_at IS NULL OR raised_at >= ?2 OR cleared_at >= ?2 OR seen_at IS NULL)
			ORDER BY raised_at DESC, flag.rowid DESC`, by.SiteID, from)
	})
	return out, err
}

// Flag returns one flag.
func (d *DB) Flag(ctx context.Context, id logbook.ID) (f Flag, err error) {
	err = d.read(ctx, "read flag", func(c *conn) error { f, err = c.flag(ctx, id); return err })
	return f, err
}
