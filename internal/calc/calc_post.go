package calc

import (
	"net/http"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/stats"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

// calcForecast answers calc/forecast: windows from daily temperatures.
func (s *Service) calcForecast(w http.ResponseWriter, r *http.Request) error {
	if err := form.NoQuery(r); err != nil {
		return err
	}
	o, err := form.ReadObject(r)
	if err != nil {
		return err
	}
	in := forecast.CalcInput{
		Species: logbook.Species(o.Text("species")), StartOn: calcDay(o, "start_on"),
		DevelopmentIndex: o.Number("development_index"), ThermalUnits: form.NumberOf[units.ThermalUnits](o,
			"thermal_units"),
		MeanTemperature: form.NumberOf[units.Celsius](o, "mean_temperature_c"), Future: form.NumberOf[units.Celsius](o,
			"future_c"),
	}
	for i, v := range o.Items("daily_c", forecast.MaxDaily) {
		day := form.NewListItem(v, "daily_c", i, o.Problems)
		in.Daily = append(in.Daily, form.NumberOf[units.Celsius](day.Object, day.Item))
	}
	for x := range o.Objects("observed", forecast.MaxObserved) {
		in.Observed = append(in.Observed, forecast.CalcObserved{Event: forecast.Event(x.Text("event")),
			After: x.Date("after"), OnOrBefore: x.Date("on_or_before")})
		x.End()
	}
	o.End()
	if err := logbook.Refuse(*o.Problems); err != nil {
		return err
	}
	out, err := forecast.Calc(in)
	if err != nil {
		return err
	}
	return req.WriteJSON(w, http.StatusOK, out)
}

// DeadStages are the stages of calc/dead-count: those of the logbook, and the
// stretches of the season that the rule tells apart.
var DeadStages = map[string]stats.DeadStage{
	"green_egg": stats.StageEgg, "eyed_egg": stats.StageEgg, "alevin": stats.StageAlevin,
	"fry": stats.StageFry, "parr": stats.StageFry, "smolt": stats.StageFry,
	"arrival": stats.StageArrival, "egg": stats.StageEgg, "hatching": stats.StageHatching, "swim_up": stats.StageSwimUp,
}

type DeadAnswer struct {
	Unusual     bool    `json:"unusual"`
	Limit       int     `json:"limit"`
	Probability float64 `json:"probability"`
	ActLimit    int     `json:"act_limit"`
	Expected    float64 `json:"expected"`
}

// calcDeadCount answers calc/dead-count with the stock settings of the rule.
func (s *Service) calcDeadCount(w http.ResponseWriter, r *http.Request) error {
	if err := form.NoQuery(r); err != nil {
		return err
	}
	o, err := form.ReadObject(r)
	if err != nil {
		return err
	}
	atRisk := between(o, "at_risk", 1, stats.MaxAtRisk)
	stage, known := DeadStages[o.Text("stage")]
	if !known && !o.Failed("stage") {
		o.Fail("stage", "choice.unknown", nil)
	}
	var history []stats.DaysDead
	total := atRisk
	for x := range o.Objects("history", stats.MaxDays) {
		pick := readPick(x, stats.MaxAtRisk)
		if total += pick.Dead; total > stats.MaxAtRisk && !x.Failed("dead") {
			x.Fail("dead", "calc.too_many_fish", logbook.Args{"Max": stats.MaxAtRisk})
		}
		history = append(history, pick)
	}
	today := stats.DaysDead{}
	if x := o.Inner("today"); x != nil {
		today = readPick(x, max(atRisk, 0))
	} else {
		o.Fail("today", "api.missing", nil)
	}
	o.End()
	if err := logbook.Refuse(*o.Problems); err != nil {
		return err
	}
	a, err := stats.JudgeDeadOnce(stats.DefaultDeadConfig(), atRisk, stage, history, today)
	if err != nil {
		return err
	}
	return req.WriteJSON(w, http.StatusOK, DeadAnswerOf(a))
}

func DeadAnswerOf(a stats.DeadAnswer) DeadAnswer {
	return DeadAnswer{Unusual: a.Unusual, Limit: a.Limit, Probability: a.Probability, ActLimit: a.ActLimit,
		Expected: a.Expected}
}

func readPick(x *form.Object, mostDead int) stats.DaysDead {
	p := stats.DaysDead{Days: between(x, "days", 1, stats.MaxDays), Dead: between(x, "dead", 0, mostDead)}
	x.End()
	return p
}

// between reads a whole number from low to high that must be there; low when
// it is not.
func between(o *form.Object, name string, low, high int) int {
	before := len(*o.Problems)
	v, ok := o.Whole(name).Get()
	switch {
	case len(*o.Problems) > before:
	case !ok:
		o.Fail(name, "api.missing", nil)
	case v < low || v > high:
		o.Fail(name, "number.whole_between", logbook.Args{"Min": low, "Max": high})
	default:
		return v
	}
	return low
}

type SetpointAnswer struct {
	Setpoint          units.Celsius              `json:"setpoint_c"`
	P50               units.Optional[civil.Date] `json:"p50"`
	Earliest          units.Optional[civil.Date] `json:"earliest"`
	Latest            units.Optional[civil.Date] `json:"latest"` // null when never
	Unchanged         units.Optional[civil.Date] `json:"unchanged"`
	Reachable         bool                       `json:"reachable"`
	DaysPerHalfDegree float64                    `json:"days_per_half_degree"`
	Steps             []setpointStep             `json:"steps"`
	Cautions          []string                   `json:"cautions"`
}

type setpointStep struct {
	On       civil.Date    `json:"on"`
	Setpoint units.Celsius `json:"setpoint_c"`
}

// calcSetpoint answers calc/setpoint: the setpoint that brings swim-up by a day.
func (s *Service) calcSetpoint(w http.ResponseWriter, r *http.Request) error {
	if err := form.NoQuery(r); err != nil {
		return err
	}
	o, err := form.ReadObject(r)
	if err != nil {
		return err
	}
	safe := forecast.Range{Min: units.Celsius(needNumber(o, "min_c")), Max: units.Celsius(needNumber(o, "max_c"))}
	in := forecast.PlanInput{
		Species: logbook.Species(o.Text("species")), On: calcDay(o, "on"), Index: needNumber(o, "development_index"),
		By: calcDay(o, "swim_up_by"), Now: units.Celsius(needNumber(o, "now_c")), Eggs: safe, Alevins: safe,
		MaxStep: units.CelsiusDelta(needNumber(o, "max_step_c_per_day")),
	}
	o.End()
	if err := logbook.Refuse(*o.Problems); err != nil {
		return err
	}
	a, err := SetpointOf(in, req.Of(r).P)
	if err != nil {
		return err
	}
	return req.WriteJSON(w, http.StatusOK, a)
}

// SetpointOf plans, and writes the plan with its caution.
func SetpointOf(in forecast.PlanInput, p *i18n.Printer) (SetpointAnswer, error) {
	plan, err := forecast.Plan(in)
	if err != nil {
		return SetpointAnswer{}, err
	}
	a := SetpointAnswer{Setpoint: plan.Setpoint, P50: SomeDate(plan.P50), Earliest: SomeDate(plan.Earliest),
		Latest:    SomeDate(plan.Latest),
		Unchanged: SomeDate(plan.Unchanged), Reachable: plan.Reachable, DaysPerHalfDegree: plan.DaysPerHalfDegree,
		Steps:    []setpointStep{},
		Cautions: []string{p.T("calc.setpoint_caution")}}
	for _, x := range plan.Steps {
		a.Steps = append(a.Steps, setpointStep{On: x.On, Setpoint: x.Setpoint})
	}
	return a, nil
}

// needNumber reads a number that must be there.
func needNumber(o *form.Object, name string) float64 {
	before := len(*o.Problems)
	v := o.Number(name)
	if !v.OK && len(*o.Problems) == before {
		o.Fail(name, "api.missing", nil)
	}
	return v.V
}

// calcDay reads the day a calculation starts from or aims at, kept inside the
// years in which dates ahead of it stay dates.
func calcDay(o *form.Object, name string) civil.Date {
	d := o.Date(name)
	switch key := form.CalcYear(d); {
	case d.IsZero() && !o.Failed(name):
		o.Fail(name, "date.empty", nil)
	case !d.IsZero() && key != "":
		o.Fail(name, key, form.CalcYears)
		return civil.Date{}
	}
	return d
}

func SomeDate(d civil.Date) units.Optional[civil.Date] {
	return units.Optional[civil.Date]{V: d, OK: !d.IsZero()}
}
