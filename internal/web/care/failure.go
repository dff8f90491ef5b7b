package care

import (
	"errors"
	"net/http"
	"slices"
	"time"

	"reddside/internal/assess"
	"reddside/internal/biology"
	"reddside/internal/calc"
	"reddside/internal/care"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/rules"
	"reddside/internal/units"
	"reddside/internal/water"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
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
	assess.Result
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
func (s *Service) failureShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	k := &failure{loc: season.Site.Location(), what: failedChiller}
	if k.Result, err = s.Assess.Assess(r.Context(), season, v.Now); err != nil {
		return err
	}
	if k.profile, err = s.Assess.Profile(r.Context()); err != nil {
		return err
	}
	m := s.carePage(r, season, "care.failure", careFailure)
	k.p = m.P
	k.know(v.Now)
	f, asked := careAsked(r)
	status := http.StatusOK
	if asked {
		if k.read(f); len(f.Problems) == 0 {
			m.Parts, m.Answer, err = k.answer(f)
			if err != nil && !careRange(f, m.P, err, failureFields()) {
				return err
			}
		}
		m.Problems = form.ShowProblems(m.P, f.Problems, func(field string) string {
			return m.P.T("care_failure."+field, logbook.Args{"Unit": m.P.UnitSymbol()})
		})
		if m.Error = len(m.Problems) > 0; m.Error {
			status, m.Answer = http.StatusUnprocessableEntity, nil
			m.Parts = nil
		}
	} else {
		f = form.NewForm()
		f.Set("since_on", k.Today.String())
		// A check that found everything stopped has said already what is out.
		if slices.ContainsFunc(k.Assessment.Flags, func(f rules.Flag) bool { return f.Rule == "power_out" }) {
			k.what = failedPower
			f.Set("what", failedPower)
		}
	}
	form := ui.CarePart{ID: "ask", Title: m.T("care_failure.ask"), Lines: k.known(),
		Form: s.failureForm(k, f, m.Problems)}
	todo := ui.CarePart{ID: "do", Title: m.T("care_failure.do"), Steps: k.steps(),
		Cautions: append(calc.CautionTexts(m.P, water.WarmingCautions()), m.T("care_failure.permit"))}
	if m.Error {
		m.Parts = []ui.CarePart{form, todo}
	} else { // whoever opens this page in a hurry reads first what to do
		todo.Links = []ui.CareLink{{Href: "#ask", Label: m.T("care_failure.ask_link")}}
		m.Parts = append([]ui.CarePart{todo}, append(m.Parts, form)...)
	}
	return s.Render(w, r, status, ui.CarePageView(m))
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
	lines := []string{p.T("care_failure.known", logbook.Args{"Volume": k.Season.Tank.Volume,
		"Wall": k.Season.Tank.Wall})}
	if t := k.Assessment.Temperature; k.before.OK {
		lines = append(lines, p.T("care_failure.last", logbook.Args{"Value": t.Value, "On": p.DateWeekday(t.On)}))
	} else {
		lines = append(lines, p.T("care_failure.no_last"))
	}
	return lines
}

// read reads the question and finds the heat flow.
func (k *failure) read(f *form.Form) {
	unit := k.p.Unit()
	switch f.Text("what") {
	case failedChiller, failedPower:
		k.what = f.Text("what")
	default:
		f.Fail("what", "choice.empty", nil)
	}
	k.out.Since = careMoment(f, "since_on", "since_at", k.loc)
	k.readEnd(f)
	k.out.Room = careTemperature(f, "room", unit)
	if t, _, _ := f.Temperature("tank", unit); t.OK {
		k.out.Tank, k.out.Measured = t.V, true
	} else if k.before.OK {
		k.out.Tank = k.before.V
	} else if !f.Has("tank") {
		f.Fail("tank", "care_failure.need_tank", nil)
	}
	if k.what == failedChiller {
		k.out.HeatW = f.Number("heat").V
	}
	if w := form.Optional[units.Grams](f, "weight"); w.OK {
		if !(w.V > 0 && w.V <= failureHeaviest) {
			f.Fail("weight", "care_failure.weight_range", logbook.Args{"High": failureHeaviest})
		}
		k.weight = w
	}
	k.roomThen = k.out.Room
	if t, _, _ := f.Temperature("room_then", unit); t.OK {
		k.roomThen = t.V
	}
	if len(f.Problems) > 0 {
		return
	}
	if err := k.heat(f.Text("heat_from")); err != nil {
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
func (k *failure) readEnd(f *form.Form) {
	if f.Text("back_at") != "" || f.Text("back_on") != "" {
		if f.Text("back_on") == "" {
			f.Set("back_on", f.Text("since_on"))
		}
		if back := careMoment(f, "back_on", "back_at", k.loc); !back.IsZero() {
			if back.After(k.out.Now) || back.Before(k.out.Since) {
				f.Fail("back_at", "care_failure.back_order", nil)
			}
			k.out.Now, k.ended = back, true
		}
	}
	switch {
	case k.out.Since.IsZero():
	case k.out.Since.After(k.out.Now) && !f.Has("back_at"):
		f.Fail("since_at", "care_failure.future", nil)
	case k.out.Now.Sub(k.out.Since) > failureLongest:
		f.Fail("since_on", "care_failure.too_long", logbook.Args{"Days": int(failureLongest.Hours() / 24)})
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

func (s *Service) failureForm(k *failure, f *form.Form, problems ui.Problems) *ui.CareForm {
	p := k.p
	unit := map[string]any{"Unit": p.UnitSymbol()}
	b := form.FormItems(s.Cat, p, "care_failure")
	b.Tiles("what", f.Raw("what"), []ui.Option{{Value: failedChiller, Label: p.T("care_failure.chiller")},
		{Value: failedPower, Label: p.T("care_failure.power")}})
	b.Text("since_at", f.Raw("since_at"))
	b.Date("since_on", f.Raw("since_on"), false)
	b.Number("room", f.Raw("room"), "decimal", false, unit)
	b.Number("tank", f.Raw("tank"), "decimal", true, unit)
	b.Number("heat", f.Raw("heat"), "decimal", true)
	if k.isFish() {
		b.Number("weight", f.Raw("weight"), "decimal", true)
	}
	if k.hasFit {
		from := f.Raw("heat_from")
		if from == "" {
			from = heatRecord
		}
		b.Number("room_then", f.Raw("room_then"), "decimal", true, unit)
		b.Tiles("heat_from", from, []ui.Option{{Value: heatRecord, Label: p.T("care_failure.from_record")},
			{Value: heatWalls, Label: p.T("care_failure.from_walls")}})
	}
	b.OptionalText("back_at", f.Raw("back_at"))
	b.Date("back_on", f.Raw("back_on"), true)
	return &ui.CareForm{Method: "get", Action: ui.SeasonPath(k.Season.ID, careFailure),
		Submit: p.T("care_failure.submit"),
		Hidden: []ui.Option{{Value: "asked", Label: "yes"}}, Items: b.List, Problems: problems}
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
func (k *failure) answer(f *form.Form) ([]ui.CarePart, *ui.CareAnswer, error) {
	now, err := k.out.Present()
	if err != nil {
		return nil, nil, err
	}
	answer, times, err := k.times(now)
	if err != nil {
		return nil, nil, err
	}
	parts := []ui.CarePart{times}
	for _, part := range []func(units.Celsius) (ui.CarePart, error){k.ice, k.oxygen, k.after} {
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
