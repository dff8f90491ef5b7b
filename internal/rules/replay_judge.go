package rules

import (
	"slices"

	"reddside/internal/civil"
)

// judgedFamilies are the rules that tell of trouble with water, fish or equipment
// and may be wrong. A missing check, food or an account that does not add up is
// what it is.
func judgedFamilies() map[string]Family {
	out := map[string]Family{}
	for _, family := range families() {
		for _, r := range family {
			switch r.Family {
			case Temperature, Equipment, Water, Deaths:
				out[r.ID] = r.Family
			}
		}
	}
	return out
}

// judge compares the episodes of one season with what is known of it, and marks
// the false ones: an act or a watch that was up at no time of an incident and,
// where people judged, at a time when they looked and found nothing.
func (g *AlarmFigures) judge(all []Episode, known, quiet []Incident, o ReplayOptions, families map[string]Family) {
	grace := o.Grace
	alarm := func(e *Episode) bool { return (e.Kind == Act || e.Kind == Watch) && families[e.Rule] != "" }
	for i := range all {
		e := &all[i]
		if !alarm(e) || slices.ContainsFunc(known, func(n Incident) bool { return n.overlaps(e, grace) }) {
			continue
		}
		if o.Quiet != nil && !slices.ContainsFunc(quiet, func(n Incident) bool {
			return n.Rule == e.Rule &&
				n.overlaps(e, 0)
		}) {
			g.NotJudged++
			continue
		}
		e.False = true
		if e.Kind == Act {
			g.FalseActs++
		} else {
			g.FalseWatches++
		}
	}
	for _, n := range known {
		g.Incidents++
		act, watch := -1, -1
		for i := range all {
			e := &all[i]
			if !alarm(e) || !n.overlaps(e, grace) || n.Family != "" && families[e.Rule] != n.Family {
				continue
			}
			watch = sooner(watch, max(0, e.Raised.Sub(n.From)))
			if !e.Acted.IsZero() && !e.Acted.After(n.to().AddDays(grace)) {
				act = sooner(act, max(0, e.Acted.Sub(n.From)))
			}
		}
		if act >= 0 {
			g.ToldByAct++
			g.ActDelays = insert(g.ActDelays, act)
		}
		if watch >= 0 {
			g.ToldByWatch++
			g.WatchDelays = insert(g.WatchDelays, watch)
		}
	}
}

func sooner(have, days int) int {
	if have < 0 || days < have {
		return days
	}
	return have
}

func insert(sorted []int, v int) []int {
	i, _ := slices.BinarySearch(sorted, v)
	return slices.Insert(sorted, i, v)
}

func (n Incident) to() civil.Date { return civil.Max(n.From, n.To) }

// overlaps reports whether an episode was up while the incident lasted.
func (n Incident) overlaps(e *Episode, grace int) bool {
	return !e.Raised.After(n.to().AddDays(grace)) && (e.Cleared.IsZero() || e.Cleared.After(n.From))
}

// MedianDelay returns the middle of delays in ascending order, days; ok is false
// when there are none.
func MedianDelay(delays []int) (days int, ok bool) {
	if len(delays) == 0 {
		return 0, false
	}
	return delays[len(delays)/2], true
}
