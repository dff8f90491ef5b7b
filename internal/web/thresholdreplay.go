package web

import (
	"cmp"
	"context"
	"slices"

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
	now, new rules.Report
}

// lookBack runs the limits in use and changed ones over the open seasons and the
// ones that ended last, day by day.
func (s *Server) lookBack(ctx context.Context, today civil.Date, now, changed *rules.Profile) (lookBack, error) {
	heads, err := s.db.SeasonHeads(ctx, store.SeasonFilter{})
	if err != nil {
		return lookBack{}, err
	}
	ids := make([]logbook.ID, len(heads))
	for i, h := range heads {
		ids[i] = h.ID
	}
	var out lookBack
	err = s.db.LoadSeasons(ctx, ids, func(season *logbook.Season) error {
		if !season.StartedOn().IsZero() && len(season.Checks) > 0 {
			out.seasons = append(out.seasons, season)
		}
		return nil
	})
	if err != nil {
		return lookBack{}, err
	}
	open := func(s *logbook.Season) int {
		if s.ClosedOn.IsZero() {
			return 1
		}
		return 0
	}
	slices.SortStableFunc(out.seasons, func(a, b *logbook.Season) int {
		return cmp.Or(open(b)-open(a), b.StartedOn().Compare(a.StartedOn()))
	})
	out.seasons = out.seasons[:min(len(out.seasons), lookBackSeasons)]
	options := rules.ReplayOptions{Until: today}
	out.now, out.new = rules.Replay(out.seasons, now, options), rules.Replay(out.seasons, changed, options)
	return out, nil
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
			return (x.Cleared.IsZero() || x.Cleared.After(e.Raised)) && (e.Cleared.IsZero() || e.Cleared.After(x.Raised))
		}
		if !slices.ContainsFunc(at[place{e.Season, e.Rule, e.Subject, e.Kind}], overlaps) {
			out = append(out, e)
		}
	}
	return out
}
