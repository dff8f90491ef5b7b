package assess

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strconv"
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
)

// ReplayAsk chooses seasons to run the rules over again, and the limits to change.
type ReplayAsk struct {
	Season logbook.ID // one season; "" for all that are chosen by Closed
	Closed bool       // only seasons that have ended
	Set    []rules.Override
}

// ReplayAnswer is what the limits in use, and changed ones, raise over the chosen
// seasons. Changed is nil when nothing was changed.
type ReplayAnswer struct {
	Seasons []ReplaySeason
	More    int // chosen seasons that were left out, older than these
	InUse   rules.Report
	Changed *rules.Report
}

// ReplaySeason names a replayed season.
type ReplaySeason struct {
	ID                logbook.ID
	Site, Tank, Label string
}

// Bounds of one replay: the seasons on a page, and how many are in memory at
// once.
const (
	ReplayPageSeasons = 500
	replayGroup       = 64
)

// Replay runs the rules over stored seasons again: see rules.Replay. limit bounds
// the seasons, newest first; 0 takes all.
func Replay(ctx context.Context, db *store.DB, ask ReplayAsk, now time.Time, limit int) (ReplayAnswer, error) {
	var out ReplayAnswer
	inUse, err := (&Service{db: db, log: slog.Default()}).Profile(ctx)
	if err != nil {
		return out, err
	}
	var changed *rules.Profile
	if len(ask.Set) > 0 {
		if changed, err = rules.NewProfile(inUse.Revision+1, append(inUse.Overrides(), ask.Set...)); err != nil {
			return out, err
		}
		out.Changed = &rules.Report{}
	}
	ids, more, err := replayIDs(ctx, db, ask, limit)
	if err != nil {
		return out, err
	}
	out.More = more
	told, err := db.Findings(ctx, "")
	if err != nil {
		return out, err
	}
	found := NewestFindings(told)
	var group []*logbook.Season
	var incidents, quiet [][]rules.Incident
	flush := func() {
		o := rules.ReplayOptions{Until: func(s *logbook.Season) civil.Date { return civil.In(now, s.Site.Location()) }}
		if len(found) > 0 {
			o.Incidents, o.Quiet = incidents, quiet
		}
		out.InUse.Merge(rules.Replay(group, inUse, o))
		if changed != nil {
			out.Changed.Merge(rules.Replay(group, changed, o))
		}
		group, incidents, quiet = group[:0], incidents[:0], quiet[:0]
	}
	err = db.LoadSeasons(ctx, ids, func(s *logbook.Season) error {
		out.Seasons = append(out.Seasons, ReplaySeason{ID: s.ID, Site: s.Site.Name, Tank: s.Tank.Name, Label: s.Label})
		var flags []store.Flag
		if len(found) > 0 {
			if flags, err = db.Flags(ctx, s.ID, true); err != nil {
				return err
			}
		}
		wrong, well := found.JudgedBy(flags, civil.In(now, s.Site.Location()))
		incidents, quiet = append(incidents, wrong), append(quiet, well)
		if group = append(group, s); len(group) == replayGroup {
			flush()
		}
		return ctx.Err()
	})
	flush()
	return out, err
}

// replayIDs lists the chosen seasons, and how many more there are.
func replayIDs(ctx context.Context, db *store.DB, ask ReplayAsk, limit int) (ids []logbook.ID, more int, err error) {
	heads, err := db.SeasonHeads(ctx, store.SeasonFilter{})
	if err != nil {
		return nil, 0, err
	}
	heads = slices.DeleteFunc(heads, func(h store.SeasonHead) bool {
		return ask.Season != "" && h.ID != ask.Season || ask.Season == "" && ask.Closed && !h.Closed
	})
	if ask.Season != "" && len(heads) == 0 {
		return nil, 0, logbook.Missing("season")
	}
	// Labels begin with the year.
	slices.SortStableFunc(heads, func(x, y store.SeasonHead) int { return strings.Compare(y.Label, x.Label) })
	if limit > 0 && len(heads) > limit {
		more = len(heads) - limit
		heads = heads[:limit]
	}
	for _, h := range heads {
		ids = append(ids, h.ID)
	}
	return ids, more, nil
}

// ParseLimit reads a change of a threshold from "limit=value", with a species and
// a stage after the name where it holds only for them:
// "temperature_watch_high/atlantic_salmon/fry=11". Temperatures are in Celsius.
func ParseLimit(text string) (rules.Override, error) {
	o := rules.Override{Reason: "replay"}
	name, value, ok := strings.Cut(text, "=")
	if !ok {
		return o, fmt.Errorf("%q is not of the form limit=value", text)
	}
	parts := strings.Split(name, "/")
	if o.Limit, ok = rules.LimitNamed(strings.TrimSpace(parts[0])); !ok {
		return o, fmt.Errorf("there is no limit %q", parts[0])
	}
	for _, p := range parts[1:] {
		switch {
		case logbook.Species(p).Valid() && o.Species == "":
			o.Species = logbook.Species(p)
		case logbook.Stage(p).Order() > 0 && o.Stage == "":
			o.Stage = logbook.Stage(p)
		default:
			return o, fmt.Errorf("%q is no species or stage", p)
		}
	}
	v, err := strconv.ParseFloat(strings.TrimSpace(value), 64)
	if err != nil {
		return o, errors.New(strings.TrimSpace(value) + " is not a number; write it like 0.5")
	}
	o.Value = v
	return o, nil
}
