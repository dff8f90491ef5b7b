package logbook

import (
	"slices"
	"strings"
	"testing"

	"reddside/internal/civil"
)

// Each kind of text has one bound, and a year that cannot be is refused.
func TestBounds(t *testing.T) {
	long, today, old := strings.Repeat("é", 80_000), civil.MustParse("2026-02-10"), civil.MustParse("0026-01-20")
	season := &Season{Label: long, ReleaseBy: civil.MustParse("9999-06-01"),
		Deliveries: []Delivery{{On: civil.MustParse("2026-01-20"), Count: 100}}}
	for what, x := range map[string]struct {
		got    []Problem
		fields []string
	}{
		"lot":      {Lot{Code: "L", Note: long, FertilisedOn: old}.Validate(today), []string{"note", "fertilised_on"}},
		"delivery": {Delivery{On: old, Note: long}.Validate(Lot{}, today), []string{"on", "note"}},
		"event": {Event{On: old, Place: long, Permit: long, Observer: long}.Validate(season, today),
			[]string{"on", "place", "permit", "observer"}},
		"season": {season.ValidateDetails(today), []string{"label", "release_by"}},
		"plan": {(&Plan{MadeOn: old, By: civil.MustParse("9999-06-01"), EndedOn: old}).Validate(),
			[]string{"made_on", "by", "ended_on"}},
		"guess": {(&Guess{Group: long, On: civil.MustParse("9999-06-01"), MadeOn: today}).Validate(season),
			[]string{"group", "on"}},
		"photo": {(&Photo{Alt: long, On: old}).Validate(today), []string{"alt", "on"}},
		"cover": {(&Cover{From: old, To: civil.MustParse("9999-06-01"), Who: long, Note: long}).Validate(),
			[]string{"from", "to", "who", "note"}},
		"closed": {ClosedSpan{From: old, To: today}.Validate(), []string{"from"}},
	} {
		for _, field := range x.fields {
			if !slices.ContainsFunc(x.got, func(p Problem) bool {
				return p.Field == field && (p.Key == "entry.too_long" || p.Key == "date.year")
			}) {
				t.Errorf("%s: %s is not refused: %v", what, field, x.got)
			}
		}
	}
}
