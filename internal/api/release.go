package api

import (
	"net/http"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

// The records of releases: what a release was like, beside its event.

type releaseOut struct {
	ID            logbook.ID                        `json:"id"`
	SeasonID      logbook.ID                        `json:"season_id"`
	EventID       logbook.ID                        `json:"event_id"`
	WaterBody     string                            `json:"water_body,omitempty"`
	Latitude      units.Optional[float64]           `json:"latitude,omitzero"`
	Longitude     units.Optional[float64]           `json:"longitude,omitzero"`
	Purpose       string                            `json:"purpose,omitempty"`
	LifeStage     logbook.Stage                     `json:"life_stage,omitempty"`
	MeanMM        units.Optional[units.Millimetres] `json:"mean_length_mm,omitzero"`
	SizeMethod    string                            `json:"size_method,omitempty"`
	Transport     string                            `json:"transport,omitempty"`
	LeftAt        string                            `json:"left_at,omitempty"`
	ArrivedAt     string                            `json:"arrived_at,omitempty"`
	Container     units.Optional[units.Litres]      `json:"container_l,omitzero"`
	Oxygen        logbook.OxygenSupply              `json:"oxygen_supply,omitempty"`
	WaterSource   string                            `json:"water_source,omitempty"`
	Tank          units.Optional[units.Celsius]     `json:"tank_c,omitzero"`
	Bucket        units.Optional[units.Celsius]     `json:"bucket_c,omitzero"`
	Stream        units.Optional[units.Celsius]     `json:"stream_c,omitzero"`
	TemperSteps   units.Optional[int]               `json:"tempering_steps,omitzero"`
	TemperMinutes units.Optional[int]               `json:"tempering_minutes,omitzero"`
	Supplier      string                            `json:"supplier,omitempty"`
	Stock         string                            `json:"stock,omitempty"`
	Health        logbook.HealthStatement           `json:"health_statement,omitempty"`
	HealthNote    string                            `json:"health_note,omitempty"`
	First         units.Optional[int]               `json:"first_count,omitzero"`
	Second        units.Optional[int]               `json:"second_count,omitzero"`
	Third         units.Optional[int]               `json:"third_count,omitzero"`
	ReasonAgain   string                            `json:"reason_again,omitempty"`
	ReasonMore    string                            `json:"reason_more,omitempty"`
	NotReady      string                            `json:"not_ready,omitempty"`
	entryOut
}

func releaseJSON(r *logbook.ReleaseRecord) releaseOut {
	return releaseOut{r.ID, r.SeasonID, r.EventID, r.WaterBody, r.Latitude, r.Longitude, r.Purpose, r.LifeStage, r.MeanMM, r.SizeMethod,
		r.Transport, r.LeftAt, r.ArrivedAt, r.Container, r.Oxygen, r.WaterSource, r.Tank, r.Bucket, r.Stream, r.TemperSteps, r.TemperMinutes,
		r.Supplier, r.Stock, r.Health, r.HealthNote, r.First, r.Second, r.Third, r.ReasonAgain, r.ReasonMore, r.NotReady, entryJSON(&r.Entry)}
}

// releaseEdits are the fields that a PATCH can change.
var releaseEdits = []string{"water_body", "latitude", "longitude", "purpose", "life_stage", "mean_length_mm", "size_method", "transport", "left_at",
	"arrived_at", "container_l", "oxygen_supply", "water_source", "tank_c", "bucket_c", "stream_c", "tempering_steps", "tempering_minutes",
	"supplier", "stock", "health_statement", "health_note", "first_count", "second_count", "third_count", "reason_again", "reason_more", "not_ready"}

func readReleaseJSON(o *form.Object) logbook.ReleaseRecord {
	return logbook.ReleaseRecord{WaterBody: o.Text("water_body"), Latitude: o.Number("latitude"), Longitude: o.Number("longitude"),
		Purpose: o.Text("purpose"), LifeStage: logbook.Stage(o.Text("life_stage")), MeanMM: form.NumberOf[units.Millimetres](o, "mean_length_mm"),
		SizeMethod: o.Text("size_method"), Transport: o.Text("transport"), LeftAt: o.Text("left_at"), ArrivedAt: o.Text("arrived_at"),
		Container: form.NumberOf[units.Litres](o, "container_l"), Oxygen: logbook.OxygenSupply(o.Text("oxygen_supply")), WaterSource: o.Text("water_source"),
		Tank: form.NumberOf[units.Celsius](o, "tank_c"), Bucket: form.NumberOf[units.Celsius](o, "bucket_c"), Stream: form.NumberOf[units.Celsius](o, "stream_c"),
		TemperSteps: o.Whole("tempering_steps"), TemperMinutes: o.Whole("tempering_minutes"), Supplier: o.Text("supplier"), Stock: o.Text("stock"),
		Health: logbook.HealthStatement(o.Text("health_statement")), HealthNote: o.Text("health_note"), First: o.Whole("first_count"),
		Second: o.Whole("second_count"), Third: o.Whole("third_count"), ReasonAgain: o.Text("reason_again"), ReasonMore: o.Text("reason_more"),
		NotReady: o.Text("not_ready")}
}

// apiReleaseCreate stores the record of a release whose event is in the season.
// Supplier and stock are those of the lot unless they are sent.
func (s *Service) apiReleaseCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	n, err := s.readKeyedEntry(r)
	if err != nil {
		return err
	}
	rec := readReleaseJSON(n.body)
	rec.SeasonID, rec.EventID = n.Season.ID, logbook.ID(n.body.Text("event_id"))
	if rec.Supplier == "" {
		rec.Supplier = n.Season.Lot.Supplier
	}
	if rec.Stock == "" {
		rec.Stock = n.Season.Lot.Stock
	}
	err = n.refuse(func() []logbook.Problem {
		out := rec.Validate()
		for i := range n.Season.Events {
			if e := &n.Season.Events[i]; e.ID == rec.EventID && e.Kind == logbook.Released {
				return out
			}
		}
		return append(out, logbook.Problem{Field: "event_id", Key: "api.no_such"})
	})
	if err != nil {
		return err
	}
	saved, err := s.DB.CreateRelease(r.Context(), v.Actor, rec, v.Now, store.Write{Once: n.once})
	if err != nil {
		return err
	}
	setETag(w, saved.Row.Revision)
	w.Header().Set("Location", "/api/v1/releases/"+string(saved.Row.ID))
	return req.WriteJSON(w, createdStatus(n.Key, saved.Repeated), releaseJSON(&saved.Row))
}
