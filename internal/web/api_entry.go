package web

import (
	"net/http"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// Events and deliveries: what is done to a tank, and the eggs put into it.

var (
	eventNames = map[string]string{"litres": "volume_l", "setpoint": "setpoint_c", "hours": "duration_h"}
	eventEdits = []string{"kind", "on", "time", "count", "volume_l", "setpoint_c", "duration_h", "mean_weight_g", "place", "permit", "note", "observer"}

	deliveryNames = map[string]string{"mean_temperature": "mean_temperature_c", "pack_temperature": "pack_temperature_c"}
	deliveryEdits = []string{"on", "count", "method", "thermal_units", "mean_temperature_c", "development_index", "pack_temperature_c", "stage", "note"}
)

func readEventJSON(o *object) logbook.Event {
	return logbook.Event{
		Kind: logbook.EventKind(o.text("kind")), On: o.date("on"), Time: o.text("time"), Count: o.whole("count"),
		Litres: numberOf[units.Litres](o, "volume_l"), Setpoint: numberOf[units.Celsius](o, "setpoint_c"), Hours: o.number("duration_h"),
		MeanG: numberOf[units.Grams](o, "mean_weight_g"), Place: o.text("place"), Permit: o.text("permit"),
		Note: o.text("note"), Observer: o.text("observer"),
	}
}

func readDeliveryJSON(o *object) logbook.Delivery {
	return logbook.Delivery{
		On: o.date("on"), Count: o.whole("count").V, Method: logbook.CountMethod(o.text("method")),
		ThermalUnits: numberOf[units.ThermalUnits](o, "thermal_units"), MeanTemperature: numberOf[units.Celsius](o, "mean_temperature_c"),
		Index: o.number("development_index"), PackTemperature: numberOf[units.Celsius](o, "pack_temperature_c"),
		Stage: logbook.Stage(o.text("stage")), Note: o.text("note"),
	}
}

// judgeDelivery validates a delivery to a season.
func (s *Server) judgeDelivery(r *http.Request, d logbook.Delivery, season *logbook.Season) []logbook.Problem {
	problems := d.Validate(season.Lot, s.today(season.Site, visitOf(r).now))
	return renamed(append(problems, season.ValidateDelivery(d)...), deliveryNames)
}

// entryAnswer is the answer of a write of an event or a delivery.
func entryAnswer(r *http.Request, name string, row any, changes []store.FlagChange) map[string]any {
	return map[string]any{name: row, "flags": flagChangesJSON(r, changes)}
}

// newEntry is what the creates of events and deliveries share: the season, the
// body and the key.
type newEntry struct {
	season   *logbook.Season
	body     *object
	once     store.Once
	answered bool
	after    store.After
}

func (s *Server) readNewEntry(r *http.Request) (n newEntry, err error) {
	if err = noQuery(r); err != nil {
		return n, err
	}
	if n.season, err = s.seasonOf(r); err != nil {
		return n, err
	}
	if n.body, err = readObject(r); err != nil {
		return n, err
	}
	if n.once, n.answered, err = s.once(r, n.body.fields); err != nil {
		return n, err
	}
	n.after, err = s.FlagsAfter(r.Context(), n.season, visitOf(r).now)
	return n, err
}

// refuse ends the reading of the body; judge is not asked about an entry that
// was answered before.
func (n *newEntry) refuse(judge func() []logbook.Problem) error {
	n.body.end()
	if err := logbook.Refuse(*n.body.problems); err != nil || n.answered {
		return err
	}
	return logbook.Refuse(judge())
}

func (s *Server) apiEventCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	n, err := s.readNewEntry(r)
	if err != nil {
		return err
	}
	e := readEventJSON(n.body)
	e.SeasonID = n.season.ID
	err = n.refuse(func() []logbook.Problem {
		return renamed(e.Validate(n.season, s.today(n.season.Site, v.now)), eventNames)
	})
	if err != nil {
		return err
	}
	saved, err := s.db.CreateEvent(r.Context(), v.actor, e, v.now, store.Write{Once: n.once, After: releasedOnce(n.season, &e, n.after)})
	if err != nil {
		return err
	}
	setETag(w, saved.Row.Revision)
	w.Header().Set("Location", "/api/v1/events/"+string(saved.Row.ID))
	return writeJSON(w, createdStatus(n.once, saved.Repeated), entryAnswer(r, "event", eventJSON(&saved.Row), saved.Changes))
}

func (s *Server) apiDeliveryCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	n, err := s.readNewEntry(r)
	if err != nil {
		return err
	}
	d := readDeliveryJSON(n.body)
	d.SeasonID = n.season.ID
	if err := n.refuse(func() []logbook.Problem { return s.judgeDelivery(r, d, n.season) }); err != nil {
		return err
	}
	saved, err := s.db.CreateDelivery(r.Context(), v.actor, d, v.now, store.Write{Once: n.once, After: n.after})
	if err != nil {
		return err
	}
	setETag(w, saved.Row.Revision)
	w.Header().Set("Location", "/api/v1/deliveries/"+string(saved.Row.ID))
	return writeJSON(w, createdStatus(n.once, saved.Repeated), entryAnswer(r, "delivery", deliveryJSON(&saved.Row), saved.Changes))
}

func (s *Server) eventOf(r *http.Request) (*logbook.Event, *logbook.Season, error) {
	e, err := s.db.Event(r.Context(), urlID(r, "eventID"))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.seasonByID(r, e.SeasonID, "event")
	return &e, season, err
}

func (s *Server) deliveryOf(r *http.Request) (*logbook.Delivery, *logbook.Season, error) {
	d, err := s.db.Delivery(r.Context(), urlID(r, "deliveryID"))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.seasonByID(r, d.SeasonID, "delivery")
	return &d, season, err
}
