package rules

import (
	"reddside/internal/civil"
	"reddside/internal/logbook"
)

func totalsRules() []Rule { return []Rule{totalsRule()} }

func totalsRule() Rule {
	return newRule("totals", Account, logbook.Keeper, thisWeek, 14,
		[]string{"look_through_dead", "check_delivery_count", "count_all", "correct_entry"}, MissingShare, MissingMin)
}

// totals raises an account that does not add up: more dead or moved than there
// were, or more living at a count than there should be; and fish that a count
// did not find, when they are many.
func (a *assessor) totals() {
	t := a.out.Totals
	placed := t.Delivered + t.MovedIn
	gone := t.Dead + t.MovedOut + t.Sampled + t.Released
	f := Flag{Kind: Watch, Subject: "account"}
	args := logbook.Args{"Placed": placed, "Gone": gone}
	switch {
	case gone > placed:
		args["Count"] = gone - placed
		f.Headline = headline("totals", "gone", args)
	case t.Unexplained < 0:
		args["Count"], args["On"] = -t.Unexplained, t.CountedOn
		f.Headline = headline("totals", "found", args)
	case t.Unexplained >= int(a.p.any(MissingMin)) &&
		100*float64(t.Unexplained) > a.p.any(MissingShare)*float64(placed):
		f.Kind = Note
		args["Count"], args["On"] = t.Unexplained, t.CountedOn
		f.Headline = headline("totals", "missing", args)
	default:
		return
	}
	f.Since = t.CountedOn
	if gone > placed {
		f.Since = a.overdrawnOn()
	}
	a.raise(totalsRule(), f)
}

// overdrawnOn returns the first day on which more was taken out than had been
// put in.
func (a *assessor) overdrawnOn() civil.Date {
	for d := a.s.StartedOn(); d.Before(a.today); d = d.AddDays(1) {
		t := a.s.TotalsOn(d)
		if t.Dead+t.MovedOut+t.Sampled+t.Released > t.Delivered+t.MovedIn {
			return d
		}
	}
	return a.today
}
