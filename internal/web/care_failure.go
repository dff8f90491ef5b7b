package web

import (
	"errors"
	"net/http"
	"time"

	"reddside/internal/biology"
	"reddside/internal/care"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/rules"
	"reddside/internal/units"
	"reddside/internal/water"
	"reddside/internal/web/view"
)

// What can fail.
const (
	failedChiller = "chiller"
	failedPower   = "power"
)

// Where the heat flow of a tank is taken from.
const (
	heatRecord = "record"
	heatWalls  = "walls"
)

// Facts of the failure page: the first two are local choices, the last is a
// rough figure of ice in a bottle that is not filled to the brim.
const (
	failureHoldHours = 12.0
	failureIceC      = units.Celsius(-18)
	failureBottleKg  = 0.9
	failureLongest   = 14 * 24 * time.Hour
	failureHeaviest  = units.Grams(10000) // a fish, as water.FryOxygenUse has it
)

// failure is a failure as asked, and what was found.
type failure struct {
	assessed
	profile *rules.Profile
	p       *i18n.Printer
	loc     *time.Location

	what     string
	out      report.Outage
	before   units.Optional[units.Celsius] // of the last check
	setpoint units.Optional[units.Celsius]
	weight   units.Optional[units.Grams]
	ended    bool
	stretch  report.Stretch
	roomThen units.Celsius // during the stretch
	hasFit   bool          // a warming record is there
	fitted   bool          // and it was used
	fitWhy   string
}

// failureShow answers what to do when chiller or power is out.
func (s *Server) failureShow(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	k := &failure{loc: season.Site.Location(), what: failedChiller}
	if k.assessed, err = s.assess(r.Context(), season, v.now); err != nil {
		return err
	}
	if k.profile, err = s.profile(r.Context()); err != nil {
		return err
	}
	m := s.carePage(r, season, "care.failure", careFailure)
	k.p = m.P
	k.know(v.now)
	f, asked := careAsked(r)
	status := http.StatusOK
	if asked {
		if k.read(f); len(f.problems) == 0 {
			m.Parts, m.Answer, err = k.answer(f)
			if err != nil && !careRange(f, m.P, err, failureFields()) {
				return err
			}
		}
		m.Problems = showProblems(m.P, f.problems, func(field string) string {
			return m.P.T("care_failure."+field, logbook.Args{"Unit": m.P.UnitSymbol()})
		})
		if m.Error = len(m.Problems) > 0; m.Error {
			status, m.Answer = http.StatusUnprocessableEntity, nil
			m.Parts = nil
		}
	} else {
		f = newForm()
		f.set("since_on", k.Today.String())
	}
	form := view.CarePart{ID: "ask", Title: m.T("care_failure.ask"), Lines: k.known(), Form: s.failureForm(k, f, m.Problems)}
	todo := view.CarePart{ID: "do", Title: m.T("care_failure.do"), Steps: k.steps(),
		Cautions: append(cautionTexts(m.P, water.WarmingCautions()), m.T("care_failure.permit"))}
	if m.Error {
		m.Parts = []view.CarePart{form, todo}
	} else { // whoever opens this page in a hurry reads first what to do
		todo.Links = []view.CareLink{{Href: "#ask", Label: m.T("care_failure.ask_link")}}
		m.Parts = append([]view.CarePart{todo}, append(m.Parts, form)...)
	}
	return s.render(w, r, status, view.CarePageView(m))
}

// know gathers what the log tells of the tank.
func (k *failure) know(now time.Time) {
	s := k.Season
	k.out = report.Outage{Now: now, Volume: s.Tank.Volume}
	k.setpoint = s.SetpointOn(k.Today)
	if t := k.Assessment.Temperature; !t.On.IsZero() {
		k.before = units.Some(t.Value)
	}
	for _, e := range s.Events {
		if w := e.MeanG; w.OK && w.V > 0 && w.V <= failureHeaviest {
			k.weight = w
		}
	}
	k.stretch, k.hasFit = report.WarmingStretch(s)
}

// known says what the page takes from the log, so that nobody types it in a hurry.
func (k *failure) known() []string {
	p := k.p
	lines := []string{p.T("care_failure.known", logbook.Args{"Volume": k.Season.Tank.Volume, "Wall": k.Season.Tank.Wall})}
	if t := k.Assessment.Temperature; k.before.OK {
		lines = append(lines, p.T("care_failure.last", logbook.Args{"Value": t.Value, "On": p.DateWeekday(t.On)}))
	} else {
		lines = append(lines, p.T("care_failure.no_last"))
	}
	return lines
}

// read reads the question and finds the heat flow.
func (k *failure) read(f *form) {
	unit := k.p.Unit()
	switch f.text("what") {
	case failedChiller, failedPower:
		k.what = f.text("what")
	default:
		f.fail("what", "choice.empty", nil)
	}
	k.out.Since = careMoment(f, "since_on", "since_at", k.loc)
	k.readEnd(f)
	k.out.Room = careTemperature(f, "room", unit)
	if t, _, _ := f.temperature("tank", unit); t.OK {
		k.out.Tank, k.out.Measured = t.V, true
	} else if k.before.OK {
		k.out.Tank = k.before.V
	} else if !f.has("tank") {
		f.fail("tank", "care_failure.need_tank", nil)
	}
	if k.what == failedChiller {
		k.out.HeatW = f.number("heat").V
	}
	if w := optional[units.Grams](f, "weight"); w.OK {
		if !(w.V > 0 && w.V <= failureHeaviest) {
			f.fail("weight", "care_failure.weight_range", logbook.Args{"High": failureHeaviest})
		}
		k.weight = w
	}
	k.roomThen = k.out.Room
	if t, _, _ := f.temperature("room_then", unit); t.OK {
		k.roomThen = t.V
	}
	if len(f.problems) > 0 {
		return
	}
	if err := k.heat(f.text("heat_from")); err != nil {
		careRange(f, k.p, err, failureFields())
		return
	}
	if _, err := k.out.Present(); err != nil {
		careRange(f, k.p, err, failureFields())
	}
}

// failureFields are the fields that stand for the quantities of the formulas.
func failureFields() map[string]string {
	return map[string]string{"tank_temperature": "tank", "room_temperature": "room", "heat": "heat", "volume": "tank",
		"temperature_after": "room", "hours": "since_at", "fish_weight": "weight", "": "room"}
}

// readEnd reads when it ran again, and checks the order of the moments.
func (k *failure) readEnd(f *form) {
	if f.text("back_at") != "" || f.text("back_on") != "" {
		if f.text("back_on") == "" {
			f.set("back_on", f.text("since_on"))
		}
		if back := careMoment(f, "back_on", "back_at", k.loc); !back.IsZero() {
			if back.After(k.out.Now) || back.Before(k.out.Since) {
				f.fail("back_at", "care_failure.back_order", nil)
			}
			k.out.Now, k.ended = back, true
		}
	}
	switch {
	case k.out.Since.IsZero():
	case k.out.Since.After(k.out.Now) && !f.has("back_at"):
		f.fail("since_at", "care_failure.future", nil)
	case k.out.Now.Sub(k.out.Since) > failureLongest:
		f.fail("since_on", "care_failure.too_long", logbook.Args{"Days": int(failureLongest.Hours() / 24)})
	}
}

// heat takes the heat flow from the tank's own record of an outage when there is
// one that fits, else from its walls.
func (k *failure) heat(from string) error {
	walls, err := report.HeatOfWalls(k.out.Volume, k.Season.Tank.Wall)
	if err != nil {
		return err
	}
	k.out.Heat = walls
	if !k.hasFit || from == heatWalls {
		return nil
	}
	heatW := k.out.HeatW // the pumps ran then as they do now without a chiller
	if k.stretch.PowerCut {
		heatW = 0
	}
	h, err := report.HeatOfRecord(k.out.Volume, heatW, k.stretch, k.roomThen, walls)
	switch {
	case errors.Is(err, report.ErrHeatUnlike):
		k.fitWhy = k.p.T("care_failure.fit_unlike")
	case err != nil:
		k.fitWhy = k.p.T("care_failure.fit_refused")
	default:
		k.out.Heat, k.fitted = h, true
	}
	return nil
}

func (s *Server) failureForm(k *failure, f *form, problems view.Problems) *view.CareForm {
	p := k.p
	unit := map[string]any{"Unit": p.UnitSymbol()}
	b := formItems(s.cat, p, "care_failure")
	b.tiles("what", f.raw("what"), []view.Option{{Value: failedChiller, Label: p.T("care_failure.chiller")}, {Value: failedPower, Label: p.T("care_failure.power")}})
	b.text("since_at", f.raw("since_at"))
	b.date("since_on", f.raw("since_on"), false)
	b.number("room", f.raw("room"), "decimal", false, unit)
	b.number("tank", f.raw("tank"), "decimal", true, unit)
	b.number("heat", f.raw("heat"), "decimal", true)
	if k.isFish() {
		b.number("weight", f.raw("weight"), "decimal", true)
	}
	if k.hasFit {
		from := f.raw("heat_from")
		if from == "" {
			from = heatRecord
		}
		b.number("room_then", f.raw("room_then"), "decimal", true, unit)
		b.tiles("heat_from", from, []view.Option{{Value: heatRecord, Label: p.T("care_failure.from_record")}, {Value: heatWalls, Label: p.T("care_failure.from_walls")}})
	}
	b.optionalText("back_at", f.raw("back_at"))
	b.date("back_on", f.raw("back_on"), true)
	return &view.CareForm{Method: "get", Action: "/seasons/" + string(k.Season.ID) + careFailure, Submit: p.T("care_failure.submit"),
		Hidden: []view.Option{{Value: "asked", Label: "yes"}}, Items: b.list, Problems: problems}
}

// isFish reports whether what lives in the tank breathes as fish do.
func (k *failure) isFish() bool { return k.Assessment.Stage.Stage.Order() >= logbook.Alevin.Order() }

// steps is what to do, in order.
func (k *failure) steps() []string {
	s := k.Assessment.Situation
	if now, err := k.out.Present(); err == nil && k.out.Heat.UA > 0 {
		s.Act, s.Cold = k.pastAct(now), !k.warm(now)
	}
	return stepTexts(k.p, care.FailureSteps(k.what == failedPower, s))
}

// answer writes the answer and its parts.
func (k *failure) answer(f *form) ([]view.CarePart, *view.CareAnswer, error) {
	now, err := k.out.Present()
	if err != nil {
		return nil, nil, err
	}
	answer, times, err := k.times(now)
	if err != nil {
		return nil, nil, err
	}
	parts := []view.CarePart{times}
	for _, part := range []func(units.Celsius) (view.CarePart, error){k.ice, k.oxygen, k.after} {
		one, err := part(now)
		if out, ok := errors.AsType[units.RangeError](err); ok {
			// What the formula does not hold for is left out; the rest stands.
			one.Lines = append(one.Lines, k.leftOut(out))
		} else if err != nil {
			return nil, nil, err
		}
		parts = append(parts, one)
	}
	return append(parts, k.how()), answer, nil
}

// model is the development model of the season's species.
func (k *failure) model() (*biology.Model, bool) {
	d, ok := biology.Lookup(string(k.Season.Lot.Species))
	return d.Hatch, ok && d.Hatch != nil
}
