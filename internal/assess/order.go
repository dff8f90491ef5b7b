package assess

import (
	"cmp"

	"reddside/internal/logbook"
	"reddside/internal/rules"
)

// Harm is the worst that the flags of a tank may cost: those that are not set aside,
// and as a watch what is over but nobody has said what it was.
func (l FlagLives) Harm(a *rules.Assessment) rules.Harm {
	worst := a.HarmWithout(func(f *rules.Flag) bool { return l.Aside(f, a.On) })
	for _, k := range l.Ended {
		h := rules.Harm{Kind: rules.Watch, Pace: rules.PaceOf(k.Rule), AtStake: a.Totals.Alive, Since: k.RaisedOn}
		if h.Compare(worst) < 0 {
			worst = h
		}
	}
	return worst
}

// Compare orders tanks as lists do: by status, within a status by harm, and names as
// people list them.
func (e *BoardEntry) Compare(o *BoardEntry) int {
	if c := cmp.Or(cmp.Compare(e.Assessment.Status.Order(), o.Assessment.Status.Order()),
		e.Harm.Compare(o.Harm)); c != 0 {
		return c
	}
	return e.CompareName(o)
}

// CompareName orders tanks by school and name.
func (e *BoardEntry) CompareName(o *BoardEntry) int {
	if c := logbook.NaturalCompare(e.Site.Name, o.Site.Name); c != 0 {
		return c
	}
	if c := logbook.NaturalCompare(e.Tank.Name, o.Tank.Name); c != 0 {
		return c
	}
	return cmp.Compare(e.SeasonID, o.SeasonID)
}
