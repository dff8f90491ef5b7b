package web

import (
	"net/http"
	"slices"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/units"
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
func readCheckJSON(o *object) logbook.Check {
	c := logbook.Check{
		On: o.date("on"), Slot: logbook.Slot(o.text("slot")), Time: o.text("time"),
		Chiller: logbook.Equipment(o.text("chiller")), Filter: logbook.Equipment(o.text("filter")), AirPump: logbook.Equipment(o.text("air_pump")),
		Stage: logbook.Stage(o.text("stage")), Hatched: logbook.Hatched(o.text("hatched")), Water: logbook.Water(o.text("water")),
		Fungus: logbook.Sighting(o.text("fungus")), DeadCause: logbook.DeadCause(o.text("dead_cause")),
		PH: o.number("ph"), TAN: numberOf[units.MgPerL](o, "tan_mg_l"), Nitrite: numberOf[units.MgPerL](o, "nitrite_mg_l"),
		Nitrate: numberOf[units.MgPerL](o, "nitrate_mg_l"), Oxygen: numberOf[units.MgPerL](o, "oxygen_mg_l"),
		Chlorine: numberOf[units.MgPerL](o, "chlorine_mg_l"), Alkalinity: numberOf[units.MgPerL](o, "alkalinity_mg_l"),
		Fed: numberOf[units.Grams](o, "fed_g"), Note: o.text("note"), Observer: o.text("observer"),
	}
	if c.Slot == "" {
		c.Slot = logbook.Morning
	}
	if t := o.inner("temperature"); t != nil {
		c.Temperature, c.TemperatureEntered, c.TemperatureUnit = readMeasure(t)
	}
	if d := o.inner("dead"); d != nil {
		c.DeadEggs, c.DeadAlevins, c.DeadFry = d.whole("eggs"), d.whole("alevins"), d.whole("fry")
		d.end()
	}
	return c
}

// readMeasure reads {value, unit}; what was written stays beside the Celsius.
func readMeasure(o *object) (t units.Optional[units.Celsius], entered string, unit units.TemperatureUnit) {
	v := o.number("value")
	unit = units.TemperatureUnit(o.text("unit"))
	switch {
	case !v.OK && !o.failed("value"):
		o.fail("value", "api.missing", nil)
	case !unit.Valid() && !o.failed("unit"):
		o.fail("unit", "api.temperature_unit", nil)
	case v.OK && unit.Valid():
		t, entered = units.Some(unit.ToCelsius(v.V)), jsonText(o.fields["value"])
	}
	o.end()
	return t, entered, unit
}

// judgeCheck validates a check in its season. Surprising values that are
// confirmed are noted in the check; the others are asked about.
func judgeCheck(c, replace *logbook.Check, season *logbook.Season, today civil.Date, confirm []string) []logbook.Problem {
	var left []logbook.Problem
	c.Confirmed = nil
	for _, p := range c.Validate(logbook.CheckContext{Season: without(season, c, replace), Today: today}) {
		before := replace != nil && slices.Contains(replace.Confirmed, p.Field) && valueOf(c, p.Field) == valueOf(replace, p.Field)
		if p.Soft && (before || slices.Contains(confirm, p.Field) || slices.Contains(confirm, checkField(p.Field))) {
			c.Confirmed = append(c.Confirmed, p.Field)
			continue
		}
		left = append(left, p)
	}
	slices.Sort(c.Confirmed)
	return renamed(left, checkNames)
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
		out = append(out, flagChangeOut{Op: c.Op, Rule: c.Rule, Name: visitOf(r).p.T(n.Key, n.Args), Subject: c.Subject, Kind: c.Kind, On: c.On})
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
	p, c := visitOf(r).p, &saved.Row
	out := checkAnswer{Check: checkJSON(c), Flags: flagChangesJSON(r, saved.Changes), Warnings: []warningOut{}}
	for _, f := range c.Confirmed {
		out.Warnings = append(out.Warnings, warningOut{Field: checkField(f), Message: p.T("api.warning.confirmed")})
	}
	if c.Late(site.Location()) {
		out.Warnings = append(out.Warnings, warningOut{Field: "on", Message: p.T("api.warning.late")})
	}
	return out
}

func (s *Server) apiCheckCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	if err := noQuery(r); err != nil {
		return err
	}
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	o, err := readObject(r)
	if err != nil {
		return err
	}
	c, confirm := readCheckJSON(o), o.words("confirm")
	c.SeasonID = season.ID
	o.end()
	if err := logbook.Refuse(*o.problems); err != nil {
		return err
	}
	once, answered, err := s.once(r, o.fields)
	if err != nil {
		return err
	}
	if !answered {
		if err := logbook.Refuse(judgeCheck(&c, nil, season, s.today(season.Site, v.now), confirm)); err != nil {
			return err
		}
	}
	after, err := s.FlagsAfter(r.Context(), season, v.now)
	if err != nil {
		return err
	}
	saved, err := s.db.SaveCheck(r.Context(), v.actor, c, v.now, store.Write{Once: once, After: after})
	if err != nil {
		return err
	}
	setETag(w, saved.Row.Revision)
	w.Header().Set("Location", "/api/v1/checks/"+string(saved.Row.ID))
	return writeJSON(w, createdStatus(once, saved.Repeated), checkAnswerJSON(r, saved, season.Site))
}

// createdStatus is 201, also when a key is sent again; 200 says that an equal
// entry was there before.
func createdStatus(once store.Once, repeated bool) int {
	if repeated && once.Key == "" {
		return http.StatusOK
	}
	return http.StatusCreated
}

// checkOf loads the check of the address with its season.
func (s *Server) checkOf(r *http.Request) (*logbook.Check, *logbook.Season, error) {
	c, err := s.db.Check(r.Context(), urlID(r, "checkID"))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.seasonByID(r, c.SeasonID, "check")
	return &c, season, err
}

// seasonByID loads a season for an actor who may see it; what names the row
// that is missing otherwise.
func (s *Server) seasonByID(r *http.Request, id logbook.ID, what string) (*logbook.Season, error) {
	season, err := s.db.LoadSeason(r.Context(), id)
	if err != nil {
		return nil, err
	}
	if !visitOf(r).actor.MaySee(season.Site.ID) {
		return nil, logbook.Missing(what)
	}
	return season, nil
}
