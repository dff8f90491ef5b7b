package api

import (
	"net/http"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

// checkNames are the JSON names of check fields that differ from those of the
// domain.
var checkNames = map[string]string{"dead_eggs": "dead.eggs", "dead_alevins": "dead.alevins", "dead_fry": "dead.fry"}

// checkField is the JSON name of a field of a check.
func checkField(f string) string {
	if n := checkNames[f]; n != "" {
		return n
	}
	return f
}

// checkEdits are the fields of a check that a PATCH can change.
var checkEdits = []string{"on", "slot", "time", "temperature", "chiller", "filter", "air_pump", "dead", "dead_cause", "stage", "hatched", "water",
	"fungus", "ph", "tan_mg_l", "nitrite_mg_l", "nitrate_mg_l", "oxygen_mg_l", "chlorine_mg_l", "alkalinity_mg_l", "fed_g", "note", "observer"}

// readCheckJSON reads the body of a check.
func readCheckJSON(o *form.Object) logbook.Check {
	c := logbook.Check{
		On: o.Date("on"), Slot: logbook.Slot(o.Text("slot")), Time: o.Text("time"),
		Chiller: logbook.Equipment(o.Text("chiller")), Filter: logbook.Equipment(o.Text("filter")), AirPump: logbook.Equipment(o.Text("air_pump")),
		Stage: logbook.Stage(o.Text("stage")), Hatched: logbook.Hatched(o.Text("hatched")), Water: logbook.Water(o.Text("water")),
		Fungus: logbook.Sighting(o.Text("fungus")), DeadCause: logbook.DeadCause(o.Text("dead_cause")),
		PH: o.Number("ph"), TAN: form.NumberOf[units.MgPerL](o, "tan_mg_l"), Nitrite: form.NumberOf[units.MgPerL](o, "nitrite_mg_l"),
		Nitrate: form.NumberOf[units.MgPerL](o, "nitrate_mg_l"), Oxygen: form.NumberOf[units.MgPerL](o, "oxygen_mg_l"),
		Chlorine: form.NumberOf[units.MgPerL](o, "chlorine_mg_l"), Alkalinity: form.NumberOf[units.MgPerL](o, "alkalinity_mg_l"),
		Fed: form.NumberOf[units.Grams](o, "fed_g"), Note: o.Text("note"), Observer: o.Text("observer"),
	}
	if c.Slot == "" {
		c.Slot = logbook.Morning
	}
	if t := o.Inner("temperature"); t != nil {
		c.Temperature, c.TemperatureEntered, c.TemperatureUnit = readMeasure(t)
	}
	if d := o.Inner("dead"); d != nil {
		c.DeadEggs, c.DeadAlevins, c.DeadFry = d.Whole("eggs"), d.Whole("alevins"), d.Whole("fry")
		d.End()
	}
	return c
}

// readMeasure reads {value, unit}; what was written stays beside the Celsius.
func readMeasure(o *form.Object) (t units.Optional[units.Celsius], entered string, unit units.TemperatureUnit) {
	v := o.Number("value")
	unit = units.TemperatureUnit(o.Text("unit"))
	switch {
	case !v.OK && !o.Failed("value"):
		o.Fail("value", "api.missing", nil)
	case !unit.Valid() && !o.Failed("unit"):
		o.Fail("unit", "api.temperature_unit", nil)
	case v.OK && unit.Valid():
		t, entered = units.Some(unit.ToCelsius(v.V)), form.JSONText(o.Fields["value"])
	}
	o.End()
	return t, entered, unit
}

// flagChangeOut is a flag that was raised, changed or cleared by a write.
type flagChangeOut struct {
	Op      store.FlagOp `json:"op"`
	Rule    string       `json:"rule"`
	Name    string       `json:"name"`
	Subject string       `json:"subject"`
	Kind    string       `json:"kind"`
	On      civil.Date   `json:"on"`
}

func flagChangesJSON(r *http.Request, changes []store.FlagChange) []flagChangeOut {
	names := map[string]rules.Message{}
	for _, rule := range rules.All() {
		names[rule.ID] = rule.Name
	}
	out := []flagChangeOut{}
	for _, c := range changes {
		n := names[c.Rule]
		out = append(out, flagChangeOut{Op: c.Op, Rule: c.Rule, Name: req.Of(r).P.T(n.Key, n.Args), Subject: c.Subject, Kind: c.Kind, On: c.On})
	}
	return out
}

// warningOut is something to know about a stored check.
type warningOut struct {
	Field   string `json:"field"`
	Message string `json:"message"`
}

type checkAnswer struct {
	Check    checkOut        `json:"check"`
	Flags    []flagChangeOut `json:"flags"`
	Warnings []warningOut    `json:"warnings"`
}

func checkAnswerJSON(r *http.Request, saved store.Saved[logbook.Check], site logbook.Site) checkAnswer {
	p, c := req.Of(r).P, &saved.Row
	out := checkAnswer{Check: checkJSON(c), Flags: flagChangesJSON(r, saved.Changes), Warnings: []warningOut{}}
	for _, f := range c.Confirmed {
		out.Warnings = append(out.Warnings, warningOut{Field: checkField(f), Message: p.T("api.warning.confirmed")})
	}
	if c.Late(site.Location()) {
		out.Warnings = append(out.Warnings, warningOut{Field: "on", Message: p.T("api.warning.late")})
	}
	return out
}

func (s *Service) apiCheckCreate(w http.ResponseWriter, r *http.Request) error {
	n, err := s.readNewEntry(r)
	if err != nil {
		return err
	}
	c := readCheckJSON(n.body)
	c.SeasonID, n.Confirmed = n.Season.ID, confirming(n.body.Words("confirm"), checkNames)
	if err := n.end(); err != nil {
		return err
	}
	saved, err := s.Entries.NewCheck(r.Context(), n.Sent, &c)
	if err != nil {
		return renamed(err, checkNames)
	}
	return createdEntry(w, &n, "checks", saved.Row.ID, saved.Row.Revision, saved, checkAnswerJSON(r, saved, n.Season.Site))
}

// createdStatus is 201, also when a key is sent again; 200 says that an equal
// entry was there before.
func createdStatus(key string, repeated bool) int {
	if repeated && key == "" {
		return http.StatusOK
	}
	return http.StatusCreated
}

// checkOf loads the check of the address with its season.
func (s *Service) checkOf(r *http.Request) (*logbook.Check, *logbook.Season, error) {
	c, err := s.DB.Check(r.Context(), req.URLID(r, "checkID"))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.SeasonByID(r, c.SeasonID, "check")
	return &c, season, err
}
