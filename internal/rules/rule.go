package rules

import (
	"slices"
	"strings"

	"reddside/internal/care"
	"reddside/internal/logbook"
)

// Time allowed.
const (
	now       = "rules.within.now"
	today     = "rules.within.today"
	nextCheck = "rules.within.next_check"
	threeDays = "rules.within.three_days"
	thisWeek  = "rules.within.week"
)

// newRule returns a rule whose texts stand under rule.<id>; do are names of
// actions under rules.do. Source and LocalChoice follow from the stock rows of
// the limits.
func newRule(id string, family Family, who logbook.Role, within string, shelveDays int, do []string,
	limits ...Limit) Rule {
	r := Rule{
		ID: id, Family: family, Who: who, Within: Message{Key: within}, ShelveDays: shelveDays,
		Name: text(id, "name"), Watches: text(id, "watches"), Why: text(id, "why"), Class: text(id, "class"),
	}
	r.steps = do
	for _, d := range do {
		r.Do = append(r.Do, stepMessage(care.ByID(d)))
	}
	for _, l := range limits {
		r.Thresholds = append(r.Thresholds, ThresholdRef{l})
	}
	return r
}

// stepMessage is the text of a step.
func stepMessage(s care.Step) Message { return Message{Key: s.Key(), Args: s.Args} }

// doIn is what a rule asks for in a situation.
func (r Rule) doIn(s care.Situation) []Message {
	chosen := care.Choose(r.steps, s)
	out := make([]Message, len(chosen))
	for i, x := range chosen {
		out[i] = stepMessage(x)
	}
	return out
}

// sourced fills in Source and LocalChoice from the rows of a profile.
func (r Rule) sourced(rows []Row) Rule {
	var sources []string
	for i := range rows {
		t := &rows[i]
		if !slices.Contains(r.Thresholds, ThresholdRef{t.Limit}) {
			continue
		}
		source := t.Source
		if t.Local != nil {
			source = t.Local.Source
		}
		if source == "" {
			r.LocalChoice = true
		} else if !slices.Contains(sources, source) {
			sources = append(sources, source)
		}
	}
	// A rule without a threshold rests on practice, not on a publication.
	r.LocalChoice = r.LocalChoice || len(r.Thresholds) == 0
	r.Source = strings.Join(sources, "; ")
	return r
}

func text(id, part string) Message { return Message{Key: "rule." + id + "." + part} }

// headline returns a headline of a rule; variant may be "".
func headline(id, variant string, args logbook.Args) Message {
	key := "rule." + id + ".headline"
	if variant != "" {
		key += "_" + variant
	}
	return Message{Key: key, Args: args}
}

// sourceOf returns the citation of the threshold in force for the tank's
// species and a stage, and whether it is a local choice.
func (a *assessor) sourceOf(l Limit, stage int) (source string, local bool) {
	best := -1
	for i := range a.p.rows {
		r := &a.p.rows[i]
		fits := r.Limit == l && (r.Species == "" || r.Species == a.s.Lot.Species) &&
			(r.Stage == "" || r.Stage.Order() == stage)
		if fits && r.precision() > best {
			best, source, local = r.precision(), r.Source, r.Source == ""
			if r.Local != nil {
				source, local = r.Local.Source, r.Local.Source == ""
			}
		}
	}
	return source, local
}
