package api

import (
	"net/http"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/form"
)

// sampleEdits are the fields of a sample that a PATCH can change.
var sampleEdits = []string{"on", "count", "total_g", "weights_g", "lengths_mm", "lost", "note", "observer"}

type sampleOut struct {
	ID        logbook.ID          `json:"id"`
	SeasonID  logbook.ID          `json:"season_id"`
	On        civil.Date          `json:"on"`
	Count     int                 `json:"count"`
	Total     units.Grams         `json:"total_g"`
	Weights   []units.Grams       `json:"weights_g,omitempty"`
	Lengths   []units.Millimetres `json:"lengths_mm,omitempty"`
	Lost      units.Optional[int] `json:"lost,omitzero"`
	Note      string              `json:"note,omitempty"`
	Observer  string              `json:"observer,omitempty"`
	Confirmed []string            `json:"confirmed,omitempty"`
	entryOut
}

func sampleJSON(m *logbook.Sample) sampleOut {
	return sampleOut{m.ID, m.SeasonID, m.On, m.Count, m.Total, m.Weights, m.Lengths, m.Lost, m.Note, m.Observer, m.Confirmed, entryJSON(&m.Entry)}
}

// jsonNumbers reads a list of numbers.
func jsonNumbers[T ~float64](o *form.Object, name string) []T {
	var out []T
	for i, v := range o.Items(name, logbook.MaxSampled) {
		item := form.NewListItem(v, name, i, o.Problems)
		x := item.Number(item.Item)
		if !x.OK && !item.Failed(item.Item) {
			item.Fail(item.Item, "api.missing", nil)
		}
		out = append(out, T(x.V))
	}
	return out
}

func readSampleJSON(o *form.Object) logbook.Sample {
	m := logbook.Sample{On: o.Date("on"), Weights: jsonNumbers[units.Grams](o, "weights_g"), Lengths: jsonNumbers[units.Millimetres](o, "lengths_mm"),
		Lost: o.Whole("lost"), Note: o.Text("note"), Observer: o.Text("observer")}
	count, total := o.Whole("count"), form.NumberOf[units.Grams](o, "total_g")
	m.Count, m.Total = count.V, total.V
	form.FillSample(&m, count.OK, total.OK)
	return m
}

func (s *Service) apiSampleCreate(w http.ResponseWriter, r *http.Request) error {
	n, err := s.readNewEntry(r)
	if err != nil {
		return err
	}
	m := readSampleJSON(n.body)
	m.SeasonID, n.Confirmed = n.Season.ID, confirming(n.body.Words("confirm"), nil)
	if err := n.end(); err != nil {
		return err
	}
	saved, err := s.Entries.NewSample(r.Context(), n.Sent, &m)
	if err != nil {
		return err
	}
	return createdEntry(w, &n, "samples", saved.Row.ID, saved.Row.Revision, saved, entryAnswer(r, "sample", sampleJSON(&saved.Row), saved.Changes))
}
