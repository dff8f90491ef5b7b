package api

import (
	"net/http"
	"slices"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
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
	v := req.Of(r)
	n, err := s.readNewEntry(r)
	if err != nil {
		return err
	}
	m, confirm := readSampleJSON(n.body), n.body.Words("confirm")
	m.SeasonID = n.season.ID
	var failed error
	err = n.refuse(func() []logbook.Problem {
		var problems []logbook.Problem
		problems, failed = s.JudgeSample(r, &m, n.season, func(field string) bool { return slices.Contains(confirm, field) })
		return problems
	})
	if failed != nil {
		return failed
	}
	if err != nil {
		return err
	}
	saved, err := s.DB.CreateSample(r.Context(), v.Actor, m, v.Now, store.Write{Once: n.once, After: n.after})
	if err != nil {
		return err
	}
	setETag(w, saved.Row.Revision)
	w.Header().Set("Location", "/api/v1/samples/"+string(saved.Row.ID))
	return req.WriteJSON(w, createdStatus(n.once, saved.Repeated), entryAnswer(r, "sample", sampleJSON(&saved.Row), saved.Changes))
}
