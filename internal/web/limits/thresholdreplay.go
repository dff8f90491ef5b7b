package limits

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
)

// lookBackSeasons bounds a look back to the newest seasons.
const lookBackSeasons = 60

// lookBack is what two sets of limits raise over past seasons.
type lookBack struct {
	seasons  []*logbook.Season
	all      int // that there are, looked at or not
	now, new rules.Report
}

// lookBack runs the limits in use and changed ones over the open seasons and the
// ones that ended last, day by day.
func (s *Service) lookBack(ctx context.Context, at time.Time, now, changed *rules.Profile) (lookBack, error) {
	heads, err := s.DB.SeasonHeads(ctx, store.SeasonFilter{})
	if err != nil {
		return lookBack{}, err
	}
	out := lookBack{all: len(heads)}
	err = s.DB.LoadSeasons(ctx, LookBackIDs(heads), func(season *logbook.Season) error {
		if !season.StartedOn().IsZero() && len(season.Checks) > 0 {
			out.seasons = append(out.seasons, season)
		}
		return nil
	})
	if err != nil {
		return lookBack{}, err
	}
	closed := func(s *logbook.Season) int { return closedLast(!s.ClosedOn.IsZero()) }
	slices.SortStableFunc(out.seasons, func(a, b *logbook.Season) int {
		return cmp.Or(closed(a)-closed(b), b.StartedOn().Compare(a.StartedOn()))
	})
	options := rules.ReplayOptions{Until: func(x *logbook.Season) civil.Date { return s.Assess.Today(x.Site, at) }}
	out.now, out.new = rules.Replay(out.seasons, now, options), rules.Replay(out.seasons, changed, options)
	return out, nil
}

// LookBackIDs chooses seasons before any is loaded: open ones first, then those
// of the newest label, which begins with the year.
func LookBackIDs(heads []store.SeasonHead) []logbook.ID {
	heads = slices.Clone(heads)
	slices.SortStableFunc(heads, func(a, b store.SeasonHead) int {
		return cmp.Or(closedLast(a.Closed)-closedLast(b.Closed), strings.Compare(b.Label, a.Label))
	})
	var ids []logbook.ID
	for _, h := range heads[:min(len(heads), lookBackSeasons)] {
		ids = append(ids, h.ID)
	}
	return ids
}

func closedLast(closed bool) int {
	if closed {
		return 1
	}
	return 0
}

// differences lists the episodes that only one of two sets of limits raises:
// those that do not overlap one of the same rule, subject and kind in the other.
func differences(a, b []rules.Episode) (onlyA, onlyB []rules.Episode) {
	return onlyIn(a, b), onlyIn(b, a)
}

func onlyIn(a, b []rules.Episode) (out []rules.Episode) {
	type place struct {
		season        int
		rule, subject string
		kind          rules.Kind
	}
	at := map[place][]rules.Episode{}
	for _, e := range b {
		p := place{e.Season, e.Rule, e.Subject, e.Kind}
		at[p] = append(at[p], e)
	}
	for _, e := range a {
		overlaps := func(x rules.Episode) bool {
			return (x.Cleared.IsZero() || x.Cleared.After(e.Raised)) &&
				(e.Cleared.IsZero() || e.Cleared.After(x.Raised))
		}
		if !slices.ContainsFunc(at[place{e.Season, e.Rule, e.Subject, e.Kind}], overlaps) {
			out = append(out, e)
		}
	}
	return out
}
