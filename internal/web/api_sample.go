package web

import (
	"net/http"
	"slices"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
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
func jsonNumbers[T ~float64](o *object, name string) []T {
	var out []T
	for i, v := range o.items(name, logbook.MaxSampled) {
		item := newListItem(v, name, i, o.problems)
		x := item.number(item.item)
		if !x.OK && !item.failed(item.item) {
			item.fail(item.item, "api.missing", nil)
		}
		out = append(out, T(x.V))
	}
	return out
}

func readSampleJSON(o *object) logbook.Sample {
	m := logbook.Sample{On: o.date("on"), Weights: jsonNumbers[units.Grams](o, "weights_g"), Lengths: jsonNumbers[units.Millimetres](o, "lengths_mm"),
		Lost: o.whole("lost"), Note: o.text("note"), Observer: o.text("observer")}
	count, total := o.whole("count"), numberOf[units.Grams](o, "total_g")
	m.Count, m.Total = count.V, total.V
	fillSample(&m, count.OK, total.OK)
	return m
}

func (s *Server) apiSampleCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	n, err := s.readNewEntry(r)
	if err != nil {
		return err
	}
	m, confirm := readSampleJSON(n.body), n.body.words("confirm")
	m.SeasonID = n.season.ID
	var failed error
	err = n.refuse(func() []logbook.Problem {
		var problems []logbook.Problem
		problems, failed = s.judgeSample(r, &m, n.season, func(field string) bool { return slices.Contains(confirm, field) })
		return problems
	})
	if failed != nil {
		return failed
	}
	if err != nil {
		return err
	}
	saved, err := s.db.CreateSample(r.Context(), v.actor, m, v.now, store.Write{Once: n.once, After: n.after})
	if err != nil {
		return err
	}
	setETag(w, saved.Row.Revision)
	w.Header().Set("Location", "/api/v1/samples/"+string(saved.Row.ID))
	return writeJSON(w, createdStatus(n.once, saved.Repeated), entryAnswer(r, "sample", sampleJSON(&saved.Row), saved.Changes))
}
