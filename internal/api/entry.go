package api

import (
	"net/http"

	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

// Events and deliveries: what is done to a tank, and the eggs put into it.

var (
	eventNames = map[string]string{"litres": "volume_l", "setpoint": "setpoint_c", "hours": "duration_h"}
	eventEdits = []string{"kind", "on", "time", "count", "volume_l", "setpoint_c", "duration_h", "mean_weight_g", "place", "permit",
		"product", "purpose", "dose", "dose_unit", "minutes", "allowed_by", "days_before_release", "note", "observer"}

	deliveryNames = map[string]string{"mean_temperature": "mean_temperature_c", "pack_temperature": "pack_temperature_c"}
	deliveryEdits = []string{"on", "count", "method", "thermal_units", "mean_temperature_c", "development_index", "pack_temperature_c", "stage", "note"}
)

func readEventJSON(o *form.Object) logbook.Event {
	return logbook.Event{
		Kind: logbook.EventKind(o.Text("kind")), On: o.Date("on"), Time: o.Text("time"), Count: o.Whole("count"),
		Litres: form.NumberOf[units.Litres](o, "volume_l"), Setpoint: form.NumberOf[units.Celsius](o, "setpoint_c"), Hours: o.Number("duration_h"),
		MeanG: form.NumberOf[units.Grams](o, "mean_weight_g"), Place: o.Text("place"), Permit: o.Text("permit"),
		Treated: logbook.Treated{Product: o.Text("product"), Purpose: o.Text("purpose"), Dose: o.Number("dose"),
			DoseUnit: logbook.DoseUnit(o.Text("dose_unit")), Minutes: o.Number("minutes"), AllowedBy: o.Text("allowed_by"),
			DaysBeforeRelease: o.Whole("days_before_release")},
		Note: o.Text("note"), Observer: o.Text("observer"),
	}
}

func readDeliveryJSON(o *form.Object) logbook.Delivery {
	return logbook.Delivery{
		On: o.Date("on"), Count: o.Whole("count").V, Method: logbook.CountMethod(o.Text("method")),
		ThermalUnits: form.NumberOf[units.ThermalUnits](o, "thermal_units"), MeanTemperature: form.NumberOf[units.Celsius](o, "mean_temperature_c"),
		Index: o.Number("development_index"), PackTemperature: form.NumberOf[units.Celsius](o, "pack_temperature_c"),
		Stage: logbook.Stage(o.Text("stage")), Note: o.Text("note"),
	}
}

// judgeDelivery validates a delivery to a season.
func (s *Service) judgeDelivery(r *http.Request, d logbook.Delivery, season *logbook.Season) []logbook.Problem {
	problems := d.Validate(season.Lot, s.Assess.Today(season.Site, req.Of(r).Now))
	return form.Renamed(append(problems, season.ValidateDelivery(d)...), deliveryNames)
}

// entryAnswer is the answer of a write of an event or a delivery.
func entryAnswer(r *http.Request, name string, row any, changes []store.FlagChange) map[string]any {
	return map[string]any{name: row, "flags": flagChangesJSON(r, changes)}
}

// newEntry is what the creates of events and deliveries share: the season, the
// body and the key.
type newEntry struct {
	season   *logbook.Season
	body     *form.Object
	once     store.Once
	answered bool
	after    store.After
}

func (s *Service) readNewEntry(r *http.Request) (n newEntry, err error) {
	if err = form.NoQuery(r); err != nil {
		return n, err
	}
	if n.season, err = s.SeasonOf(r); err != nil {
		return n, err
	}
	if n.body, err = form.ReadObject(r); err != nil {
		return n, err
	}
	if n.once, n.answered, err = s.once(r, n.body.Fields); err != nil {
		return n, err
	}
	n.after, err = s.Assess.FlagsAfter(r.Context(), n.season, req.Of(r).Now)
	return n, err
}

// refuse ends the reading of the body; judge is not asked about an entry that
// was answered before.
func (n *newEntry) refuse(judge func() []logbook.Problem) error {
	n.body.End()
	if err := logbook.Refuse(*n.body.Problems); err != nil || n.answered {
		return err
	}
	return logbook.Refuse(judge())
}

func (s *Service) apiEventCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	n, err := s.readNewEntry(r)
	if err != nil {
		return err
	}
	e := readEventJSON(n.body)
	e.SeasonID = n.season.ID
	err = n.refuse(func() []logbook.Problem {
		return form.Renamed(e.Validate(n.season, s.Assess.Today(n.season.Site, v.Now)), eventNames)
	})
	if err != nil {
		return err
	}
	saved, err := s.DB.CreateEvent(r.Context(), v.Actor, e, v.Now, store.Write{Once: n.once, After: entries.ReleasedOnce(n.season, &e, n.after)})
	if err != nil {
		return err
	}
	setETag(w, saved.Row.Revision)
	w.Header().Set("Location", "/api/v1/events/"+string(saved.Row.ID))
	return req.WriteJSON(w, createdStatus(n.once, saved.Repeated), entryAnswer(r, "event", eventJSON(&saved.Row), saved.Changes))
}

func (s *Service) apiDeliveryCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	n, err := s.readNewEntry(r)
	if err != nil {
		return err
	}
	d := readDeliveryJSON(n.body)
	d.SeasonID = n.season.ID
	if err := n.refuse(func() []logbook.Problem { return s.judgeDelivery(r, d, n.season) }); err != nil {
		return err
	}
	saved, err := s.DB.CreateDelivery(r.Context(), v.Actor, d, v.Now, store.Write{Once: n.once, After: n.after})
	if err != nil {
		return err
	}
	setETag(w, saved.Row.Revision)
	w.Header().Set("Location", "/api/v1/deliveries/"+string(saved.Row.ID))
	return req.WriteJSON(w, createdStatus(n.once, saved.Repeated), entryAnswer(r, "delivery", deliveryJSON(&saved.Row), saved.Changes))
}

func (s *Service) eventOf(r *http.Request) (*logbook.Event, *logbook.Season, error) {
	e, err := s.DB.Event(r.Context(), req.URLID(r, "eventID"))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.SeasonByID(r, e.SeasonID, "event")
	return &e, season, err
}
