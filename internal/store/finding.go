package store

import (
	"context"
	"strings"
	"time"

	"reddside/internal/logbook"
)

// FlagFinding is what people found when they looked into a flag.
type FlagFinding struct {
	FlagID logbook.ID
	What   FindingKind
	Note   string // may be blank
	By     string
	Role   logbook.Role
	At     time.Time
}

// FindingKind says whether something was wrong.
type FindingKind string

// The findings. An alarm that was Real did its work, one with Nothing behind it
// was false, and Unsure counts as neither.
const (
	FoundReal    FindingKind = "real"
	FoundNothing FindingKind = "nothing"
	FoundUnsure  FindingKind = "unsure"
)

// FindingKinds lists the findings in the order in which they are offered.
func FindingKinds() []FindingKind { return []FindingKind{FoundReal, FoundNothing, FoundUnsure} }

// Known reports whether k is one of FindingKinds.
func (k FindingKind) Known() bool { return k == FoundReal || k == FoundNothing || k == FoundUnsure }

// AskFinding reports whether people can say what was behind the flag: it told of
// something abnormal.
func (f *Flag) AskFinding() bool { return f.Kind == "act" || f.Kind == "watch" }

// SetFinding notes what was behind a flag. Earlier findings stay readable; the
// newest counts. Whoever tells what was found has seen the flag.
func (d *DB) SetFinding(ctx context.Context, actor logbook.Actor, in FlagFinding, now time.Time) (Flag, error) {
	in.Note = strings.TrimSpace(in.Note)
	return d.stepFlag(ctx, actor, in.FlagID, func(c *conn, f *Flag) (bool, error) {
		if !in.What.Known() {
			return false, logbook.Refuse([]logbook.Problem{{Field: "finding", Key: "choice.empty"}})
		}
		if !f.AskFinding() {
			return false, logbook.Errorf(logbook.Conflict, "error.flag.no_finding", nil)
		}
		if f.SeenAt.IsZero() {
			if err := c.see(ctx, actor, f, now); err != nil {
				return false, err
			}
		}
		return true, c.insert(ctx, "flag_finding", "flag_id, finding, note, at, by_role, by_label",
			f.ID, string(in.What), in.Note, now.Unix(), actor.Role, actor.Label)
	})
}

// Findings lists what was found of the flags of a season, or of every season when
// season is "", oldest first. Of several findings of one flag the last counts.
func (d *DB) Findings(ctx context.Context, season logbook.ID) ([]FlagFinding, error) {
	var out []FlagFinding
	err := d.read(ctx, "list findings", func(c *conn) error {
		return c.each(ctx, func(r row) error {
			out = append(out, FlagFinding{FlagID: logbook.ID(r.text(0)), What: FindingKind(r.text(1)), Note: r.text(2),
				At:   r.at(3),
				Role: logbook.Role(r.text(4)), By: r.text(5)})
			return nil
		}, `SELECT flag_id, finding, note, at, by_role, by_label FROM flag_finding
			WHERE ?1 = '' OR flag_id IN (SELECT id FROM flag WHERE season_num = (SELECT num FROM season WHERE id = ?1)) ORDER BY num`, season)
	})
	return out, err
}
