package report

import (
	"strconv"
	"strings"

	"reddside/internal/logbook"
)

func samplesTable(id, season, on, note, observer Column) *Table {
	return &Table{Name: "samples", About: "Fish that were weighed. Lists stand in one cell, with spaces between.", Refs: []Ref{{"season_id", "seasons"}},
		Columns: append([]Column{id, season, on, {"count", Whole, "fish weighed", "1", dwc + "individualCount"},
			{"total_g", Number, "weight of all of them", "g", ""}, {"weights_g", Text, "weight of each, in g", "", ""},
			{"lengths_mm", Text, "lengths of single fish, in mm", "", ""}, {"lost", Whole, "did not come back to the tank", "1", ""},
			note, observer, {"confirmed", Text, "fields whose surprising value was confirmed", "", ""}}, entryColumns()...)}
}

func (e *Export) sample(season logbook.ID, list []logbook.Sample) error {
	for i := range list {
		m := &list[i]
		if err := e.samples.Add(append([]any{string(m.ID), string(season), m.On, m.Count, float64(m.Total), numberList(m.Weights),
			numberList(m.Lengths), OptWhole(m.Lost), m.Note, m.Observer, strings.Join(m.Confirmed, " ")}, entryCells(&m.Entry)...)...); err != nil {
			return err
		}
	}
	return nil
}

// numberList writes numbers into one cell.
func numberList[T ~float64](list []T) string {
	var out []string
	for _, x := range list {
		out = append(out, strconv.FormatFloat(float64(x), 'f', -1, 64))
	}
	return strings.Join(out, " ")
}
