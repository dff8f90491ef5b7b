package assess

import (
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
)

// Findings are what people found, the newest of each flag.
type Findings map[logbook.ID]*store.FlagFinding

func NewestFindings(all []store.FlagFinding) Findings {
	out := make(Findings, len(all))
	for i := range all {
		out[all[i].FlagID] = &all[i]
	}
	return out
}

// JudgedBy turns what people found of the flags of a season into what a replay
// can be held against: stretches in which something was wrong, and those in which
// a flag was up for nothing. last is the last day of the season so far.
func (fs Findings) JudgedBy(flags []store.Flag, last civil.Date) (incidents, quiet []rules.Incident) {
	family := map[string]rules.Family{}
	for _, r := range rules.All() {
		family[r.ID] = r.Family
	}
	for i := range flags {
		f := &flags[i]
		found := fs[f.ID]
		if found == nil {
			continue
		}
		span := rules.Incident{From: f.RaisedOn, To: last}
		if !f.ClearedOn.IsZero() {
			span.To = civil.Max(f.RaisedOn, f.ClearedOn.AddDays(-1))
		}
		switch found.What {
		case store.FoundReal:
			span.Family = family[f.Rule]
			incidents = append(incidents, span)
		case store.FoundNothing:
			span.Rule = f.Rule
			quiet = append(quiet, span)
		}
	}
	return incidents, quiet
}
