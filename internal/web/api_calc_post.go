package web

import (
	"net/http"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/stats"
	"reddside/internal/units"
)

// calcForecast answers calc/forecast: windows from daily temperatures.
func (s *Server) calcForecast(w http.ResponseWriter, r *http.Request) error {
	if err := noQuery(r); err != nil {
		return err
	}
	o, err := readObject(r)
	if err != nil {
		return err
	}
	in := forecast.CalcInput{
		Species: logbook.Species(o.text("species")), StartOn: calcDay(o, "start_on"),
		DevelopmentIndex: o.number("development_index"), ThermalUnits: numberOf[units.ThermalUnits](o, "thermal_units"),
		MeanTemperature: numberOf[units.Celsius](o, "mean_temperature_c"), Future: numberOf[units.Celsius](o, "future_c"),
	}
	for i, v := range o.items("daily_c", forecast.MaxDaily) {
		day := newListItem(v, "daily_c", i, o.problems)
		in.Daily = append(in.Daily, numberOf[units.Celsius](day.object, day.item))
	}
	for x := range o.objects("observed", forecast.MaxObserved) {
		in.Observed = append(in.Observed, forecast.CalcObserved{Event: forecast.Event(x.text("event")),
			After: x.date("after"), OnOrBefore: x.date("on_or_before")})
		x.end()
	}
	o.end()
	if err := logbook.Refuse(*o.problems); err != nil {
		return err
	}
	out, err := forecast.Calc(in)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, out)
}

// deadStages are the stages of calc/dead-count: those of the logbook, and the
// stretches of the season that the rule tells apart.
var deadStages = map[string]stats.DeadStage{
	"green_egg": stats.StageEgg, "eyed_egg": stats.StageEgg, "alevin": stats.StageAlevin,
	"fry": stats.StageFry, "parr": stats.StageFry, "smolt": stats.StageFry,
	"arrival": stats.StageArrival, "egg": stats.StageEgg, "hatching": stats.StageHatching, "swim_up": stats.StageSwimUp,
}

type deadAnswer struct {
	Unusual     bool    `json:"unusual"`
	Limit       int     `json:"limit"`
	Probability float64 `json:"probability"`
	ActLimit    int     `json:"act_limit"`
	Expected    float64 `json:"expected"`
}

// calcDeadCount answers calc/dead-count with the stock settings of the rule.
func (s *Server) calcDeadCount(w http.ResponseWriter, r *http.Request) error {
	if err := noQuery(r); err != nil {
		return err
	}
	o, err := readObject(r)
	if err != nil {
		return err
	}
	atRisk := between(o, "at_risk", 1, stats.MaxAtRisk)
	stage, known := deadStages[o.text("stage")]
	if !known && !o.failed("stage") {
		o.fail("stage", "choice.unknown", nil)
	}
	var history []stats.DaysDead
	total := atRisk
	for x := range o.objects("history", stats.MaxDays) {
		pick := readPick(x, stats.MaxAtRisk)
		if total += pick.Dead; total > stats.MaxAtRisk && !x.failed("dead") {
			x.fail("dead", "calc.too_many_fish", logbook.Args{"Max": stats.MaxAtRisk})
		}
		history = append(history, pick)
	}
	today := stats.DaysDead{}
	if x := o.inner("today"); x != nil {
		today = readPick(x, max(atRisk, 0))
	} else {
		o.fail("today", "api.missing", nil)
	}
	o.end()
	if err := logbook.Refuse(*o.problems); err != nil {
		return err
	}
	a, err := stats.JudgeDeadOnce(stats.DefaultDeadConfig(), atRisk, stage, history, today)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, deadAnswerOf(a))
}

func deadAnswerOf(a stats.DeadAnswer) deadAnswer {
	return deadAnswer{Unusual: a.Unusual, Limit: a.Limit, Probability: a.Probability, ActLimit: a.ActLimit, Expected: a.Expected}
}

func readPick(x *object, mostDead int) stats.DaysDead {
	p := stats.DaysDead{Days: between(x, "days", 1, stats.MaxDays), Dead: between(x, "dead", 0, mostDead)}
	x.end()
	return p
}

// between reads a whole number from low to high that must be there; low when
// it is not.
func between(o *object, name string, low, high int) int {
	before := len(*o.problems)
	v, ok := o.whole(name).Get()
	switch {
	case len(*o.problems) > before:
	case !ok:
		o.fail(name, "api.missing", nil)
	case v < low || v > high:
		o.fail(name, "number.whole_between", logbook.Args{"Min": low, "Max": high})
	default:
		return v
	}
	return low
}

type setpointAnswer struct {
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
func (s *Server) calcSetpoint(w http.ResponseWriter, r *http.Request) error {
	if err := noQuery(r); err != nil {
		return err
	}
	o, err := readObject(r)
	if err != nil {
		return err
	}
	safe := forecast.Range{Min: units.Celsius(needNumber(o, "min_c")), Max: units.Celsius(needNumber(o, "max_c"))}
	in := forecast.PlanInput{
		Species: logbook.Species(o.text("species")), On: calcDay(o, "on"), Index: needNumber(o, "development_index"),
		By: calcDay(o, "swim_up_by"), Now: units.Celsius(needNumber(o, "now_c")), Eggs: safe, Alevins: safe,
		MaxStep: units.CelsiusDelta(needNumber(o, "max_step_c_per_day")),
	}
	o.end()
	if err := logbook.Refuse(*o.problems); err != nil {
		return err
	}
	a, err := setpointOf(in, visitOf(r).p)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, a)
}

// setpointOf plans, and writes the plan with its caution.
func setpointOf(in forecast.PlanInput, p *i18n.Printer) (setpointAnswer, error) {
	plan, err := forecast.Plan(in)
	if err != nil {
		return setpointAnswer{}, err
	}
	a := setpointAnswer{Setpoint: plan.Setpoint, P50: someDate(plan.P50), Earliest: someDate(plan.Earliest), Latest: someDate(plan.Latest),
		Unchanged: someDate(plan.Unchanged), Reachable: plan.Reachable, DaysPerHalfDegree: plan.DaysPerHalfDegree, Steps: []setpointStep{},
		Cautions: []string{p.T("calc.setpoint_caution")}}
	for _, x := range plan.Steps {
		a.Steps = append(a.Steps, setpointStep{On: x.On, Setpoint: x.Setpoint})
	}
	return a, nil
}

// needNumber reads a number that must be there.
func needNumber(o *object, name string) float64 {
	before := len(*o.problems)
	v := o.number(name)
	if !v.OK && len(*o.problems) == before {
		o.fail(name, "api.missing", nil)
	}
	return v.V
}

// calcDay reads the day a calculation starts from or aims at, kept inside the
// years in which dates ahead of it stay dates.
func calcDay(o *object, name string) civil.Date {
	d := o.date(name)
	switch key := calcYear(d); {
	case d.IsZero() && !o.failed(name):
		o.fail(name, "date.empty", nil)
	case !d.IsZero() && key != "":
		o.fail(name, key, calcYears)
		return civil.Date{}
	}
	return d
}

// calcYears are the first and last year of calculations.
var calcYears = logbook.Args{"Low": "1900", "High": "2200"}

// calcYear is what is wrong with the year of a day, "" when nothing is.
func calcYear(d civil.Date) string {
	if y, _, _ := d.YMD(); y < 1900 || y > 2200 {
		return "calc.year"
	}
	return ""
}

func someDate(d civil.Date) units.Optional[civil.Date] {
	return units.Optional[civil.Date]{V: d, OK: !d.IsZero()}
}
