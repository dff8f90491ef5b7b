package api

import (
	"errors"
	"net/http"
	"slices"

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

// entryAnswer is the answer of a write of an event or a delivery.
func entryAnswer(r *http.Request, name string, row any, changes []store.FlagChange) map[string]any {
	return map[string]any{name: row, "flags": flagChangesJSON(r, changes)}
}

// newEntry is what the creates of events and deliveries share: the season, the
// body and the key.
type newEntry struct {
	body *form.Object
	entries.Sent
}

func (s *Service) readNewEntry(r *http.Request) (n newEntry, err error) {
	if err = form.NoQuery(r); err != nil {
		return n, err
	}
	season, err := s.SeasonOf(r)
	if err != nil {
		return n, err
	}
	if n.body, err = form.ReadObject(r); err != nil {
		return n, err
	}
	n.Sent = sent(r, season)
	n.Key, err = keyOf(r)
	return n, err
}

// sent is an entry that a program sends to a season.
func sent(r *http.Request, season *logbook.Season) entries.Sent {
	v := req.Of(r)
	return entries.Sent{Actor: v.Actor, Season: season, Now: v.Now}
}

// confirming tells which surprising values a program says are right; names are the
// JSON names of fields that differ from those of the domain.
func confirming(words []string, names map[string]string) func(field string) bool {
	return func(field string) bool {
		return slices.Contains(words, field) || names[field] != "" && slices.Contains(words, names[field])
	}
}

// end ends the reading of the body.
func (n *newEntry) end() error {
	n.body.End()
	return logbook.Refuse(*n.body.Problems)
}

// keyedEntry is a new row that entries does not judge, with its key.
type keyedEntry struct {
	newEntry
	once     store.Once
	answered bool
}

func (s *Service) readKeyedEntry(r *http.Request) (n keyedEntry, err error) {
	if n.newEntry, err = s.readNewEntry(r); err == nil {
		n.once, n.answered, err = s.once(r, n.body.Fields)
	}
	return n, err
}

// refuse ends the reading of the body; judge is not asked about an entry that
// was answered before.
func (n *keyedEntry) refuse(judge func() []logbook.Problem) error {
	if err := n.end(); err != nil || n.answered {
		return err
	}
	return logbook.Refuse(judge())
}

// renamed gives the problems of a refused entry the names of JSON.
func renamed(err error, names map[string]string) error {
	var e *logbook.Error
	if errors.As(err, &e) {
		form.Renamed(e.Problems, names)
	}
	return err
}

// createdEntry answers the create of an entry.
func createdEntry[T any](w http.ResponseWriter, n *newEntry, path string, id logbook.ID, revision int64, saved store.Saved[T], answer any) error {
	setETag(w, revision)
	w.Header().Set("Location", "/api/v1/"+path+"/"+string(id))
	return req.WriteJSON(w, createdStatus(n.Key, saved.Repeated), answer)
}

func (s *Service) apiEventCreate(w http.ResponseWriter, r *http.Request) error {
	n, err := s.readNewEntry(r)
	if err != nil {
		return err
	}
	e := readEventJSON(n.body)
	e.SeasonID = n.Season.ID
	if err := n.end(); err != nil {
		return err
	}
	saved, err := s.Entries.NewEvent(r.Context(), n.Sent, &e)
	if err != nil {
		return renamed(err, eventNames)
	}
	return createdEntry(w, &n, "events", saved.Row.ID, saved.Row.Revision, saved, entryAnswer(r, "event", eventJSON(&saved.Row), saved.Changes))
}

func (s *Service) apiDeliveryCreate(w http.ResponseWriter, r *http.Request) error {
	n, err := s.readNewEntry(r)
	if err != nil {
		return err
	}
	d := readDeliveryJSON(n.body)
	d.SeasonID = n.Season.ID
	if err := n.end(); err != nil {
		return err
	}
	saved, err := s.Entries.NewDelivery(r.Context(), n.Sent, &d)
	if err != nil {
		return renamed(err, deliveryNames)
	}
	return createdEntry(w, &n, "deliveries", saved.Row.ID, saved.Row.Revision, saved, entryAnswer(r, "delivery", deliveryJSON(&saved.Row), saved.Changes))
}

func (s *Service) eventOf(r *http.Request) (*logbook.Event, *logbook.Season, error) {
	e, err := s.DB.Event(r.Context(), req.URLID(r, "eventID"))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.SeasonByID(r, e.SeasonID, "event")
	return &e, season, err
}
