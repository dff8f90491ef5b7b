package web

import (
	"cmp"
	"context"
	"slices"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
)

// Bounds of a look back: the newest seasons, each with the forecast of every
// seventh day, which is what the rules need to know the stage by.
const (
	lookBackSeasons = 24
	forecastStep    = 7
)

// episode is a stretch of days on which one flag was raised.
type episode struct {
	season, tank  string
	rule, subject string
	kind          rules.Kind // the most urgent
	from, to      civil.Date
}

// lookBack is what two sets of limits raise over past seasons.
type lookBack struct {
	seasons  int
	now, new []episode
}

// lookBack runs the limits in use and changed ones over the open seasons and the
// ones that ended last, day by day, as they would have been seen then.
func (s *Server) lookBack(ctx context.Context, today civil.Date, now, changed *rules.Profile) (lookBack, error) {
	heads, err := s.db.SeasonHeads(ctx, store.SeasonFilter{})
	if err != nil {
		return lookBack{}, err
	}
	var ids []logbook.ID
	for _, h := range heads {
		ids = append(ids, h.ID)
	}
	var all []*logbook.Season
	err = s.db.LoadSeasons(ctx, ids, func(season *logbook.Season) error {
		if !season.StartedOn().IsZero() && len(season.Checks) > 0 {
			all = append(all, season)
		}
		return nil
	})
	if err != nil {
		return lookBack{}, err
	}
	// Open seasons first, then those that ended last.
	slices.SortStableFunc(all, func(a, b *logbook.Season) int {
		return cmp.Or(open(b)-open(a), b.StartedOn().Compare(a.StartedOn()))
	})
	all = all[:min(len(all), lookBackSeasons)]
	out := lookBack{seasons: len(all)}
	for _, season := range all {
		out.now, out.new = replayBoth(season, today, now, changed, out.now, out.new)
	}
	return out, nil
}

func open(s *logbook.Season) int {
	if s.ClosedOn.IsZero() {
		return 1
	}
	return 0
}

// replayBoth adds the episodes of one season under two sets of limits.
func replayBoth(s *logbook.Season, today civil.Date, now, changed *rules.Profile, a, b []episode) ([]episode, []episode) {
	end := today
	if !s.ClosedOn.IsZero() {
		end = civil.Min(end, s.ClosedOn.AddDays(-1))
	}
	runs := [2]episodeRun{{list: a}, {list: b}}
	profiles := [2]*rules.Profile{now, changed}
	var f forecast.Result
	for i, d := 0, s.StartedOn(); !d.After(end); i, d = i+1, d.AddDays(1) {
		if i%forecastStep == 0 {
			f = forecast.Compute(forecast.Input{Season: s, Today: d})
		}
		for k := range runs {
			runs[k].add(s, rules.Assess(rules.Input{Season: s, Today: d, Forecast: &f, Profile: profiles[k]}))
		}
	}
	return runs[0].list, runs[1].list
}

// episodeRun joins the flags of following days to episodes.
type episodeRun struct {
	list []episode
	open map[flagPlace]int // place in list
}

func (r *episodeRun) add(s *logbook.Season, a rules.Assessment) {
	still := map[flagPlace]int{}
	for i := range a.Flags {
		f := &a.Flags[i]
		p := flagPlace{f.Rule, f.Subject}
		at, ok := r.open[p]
		if !ok {
			at = len(r.list)
			r.list = append(r.list, episode{season: string(s.ID), tank: s.Tank.Name + ", " + s.Site.Name + ", " + s.Label, rule: f.Rule, subject: f.Subject, kind: f.Kind, from: a.On})
		}
		e := &r.list[at]
		e.to = a.On
		if f.Kind.Order() < e.kind.Order() {
			e.kind = f.Kind
		}
		still[p] = at
	}
	r.open = still
}

// differences lists the episodes that only one of two sets has: those that do not
// overlap one of the same rule, subject and kind in the other.
func differences(a, b []episode) (onlyA, onlyB []episode) {
	return onlyIn(a, b), onlyIn(b, a)
}

func onlyIn(a, b []episode) (out []episode) {
	type place struct {
		season, rule, subject string
		kind                  rules.Kind
	}
	at := map[place][]episode{}
	for _, e := range b {
		p := place{e.season, e.rule, e.subject, e.kind}
		at[p] = append(at[p], e)
	}
	for _, e := range a {
		overlaps := func(x episode) bool { return !x.to.Before(e.from) && !e.to.Before(x.from) }
		if !slices.ContainsFunc(at[place{e.season, e.rule, e.subject, e.kind}], overlaps) {
			out = append(out, e)
		}
	}
	return out
}
