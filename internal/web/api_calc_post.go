package web

import (
	"net/http"

	"reddside/internal/forecast"
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
		Species: logbook.Species(o.text("species")), StartOn: o.date("start_on"),
		DevelopmentIndex: o.number("development_index"), ThermalUnits: numberOf[units.ThermalUnits](o, "thermal_units"),
		MeanTemperature: numberOf[units.Celsius](o, "mean_temperature_c"), Future: numberOf[units.Celsius](o, "future_c"),
	}
	for i, v := range o.items("daily_c") {
		day := newListItem(v, "daily_c", i, o.problems)
		in.Daily = append(in.Daily, numberOf[units.Celsius](day, day.item))
	}
	for _, x := range o.objects("observed") {
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
	for _, x := range o.objects("history") {
		pick := readPick(x, stats.MaxAtRisk)
		if total += pick.Dead; total > stats.MaxAtRisk && !x.failed("dead") {
			x.fail("dead", "calc.too_many_fish", logbook.Args{"Max": stats.MaxAtRisk})
		}
		history = append(history, pick)
	}
	if len(history) > stats.MaxDays {
		o.fail("history", "calc.too_many_picks", logbook.Args{"Max": stats.MaxDays})
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
	return writeJSON(w, http.StatusOK, deadAnswer{Unusual: a.Unusual, Limit: a.Limit, Probability: a.Probability,
		ActLimit: a.ActLimit, Expected: a.Expected})
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
