package care

import (
	"errors"

	"reddside/internal/calc"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/stats"
	"reddside/internal/units"
	"reddside/internal/web/form"
)

// careSeasonCalcs are the calculators of dates, setpoints, deaths and food. Those
// whose answer in the JSON interface comes from a body share its computation.
func careSeasonCalcs() []careCalc {
	return []careCalc{
		{"forecast", calcForecastAhead, careInputs("species", "start_on", "thermal_units", "mean_temperature_c?",
			"future_c"),
			[]careOutput{{"events.eyed", "", 0}, {"events.hatch", "", 0}, {"events.swim_up", "", 0}},
			"species=atlantic_salmon&start_on=2026-01-10&thermal_units=300&mean_temperature_c=6&future_c=6"},
		{"setpoint", calcSetpointAhead, careInputs("species", "on", "development_index", "swim_up_by", "now_c", "min_c",
			"max_c", "max_step_c_per_day"),
			[]careOutput{{"setpoint_c", "°C", 1}, {"p50", "", 0}, {"earliest", "", 0}, {"latest", "", 0},
				{"unchanged", "", 0}, {"days_per_half_degree", "d", 1}},
			"species=atlantic_salmon&on=2026-02-10&development_index=0.9&swim_up_by=2026-04-20&now_c=7&min_c=4&max_c=10&max_step_c_per_day=1"},
		{"dead-count", calcDeadFound, careInputs("at_risk", "stage", "days", "dead", "history?"),
			[]careOutput{{"limit", "", 0}, {"act_limit", "", 0}, {"probability", "", 4}, {"expected", "", 2}},
			"at_risk=1100&stage=fry&days=1&dead=3"},
		{"ration", calc.CalcRation, careInputs("fish", "weight_g", "temperature_c?", "feed_percent?"),
			[]careOutput{{"ration_g", "g", 2}, {"feed_percent", "%", 1}, {"particle_low_mm", "mm", 1},
				{"particle_high_mm", "mm", 1}},
			"fish=200&weight_g=0.5&feed_percent=3"},
	}
}

// careDeadStages are the stretches of a season in their order.
var careDeadStages = []string{"arrival", "egg", "hatching", "alevin", "swim_up", "fry"}

// calcForecastAhead is calc/forecast for one steady temperature from a day on.
func calcForecastAhead(q *form.Query, p *i18n.Printer) (any, map[string]string, error) {
	in := forecast.CalcInput{Species: logbook.Species(q.Text("species")), StartOn: q.NeedDay("start_on"),
		ThermalUnits: units.Some(units.ThermalUnits(q.Need("thermal_units"))),
		Future:       units.Some(units.Celsius(q.Need("future_c")))}
	if v, ok := q.Number("mean_temperature_c").Get(); ok {
		in.MeanTemperature = units.Some(units.Celsius(v))
	}
	if err := q.Done(); err != nil {
		return nil, nil, err
	}
	r, err := forecast.Calc(in)
	if err != nil {
		return nil, nil, careRenamed(err, map[string]string{"development_index": "thermal_units",
			"daily_c": "future_c"})
	}
	cautions := []string{p.T("care_calc.forecast.steady")}
	if r.EggsDie {
		cautions = append(cautions, p.T("care_calc.eggs_die"))
	}
	if r.Weak {
		cautions = append(cautions, p.T("care_calc.forecast.weak"))
	}
	return struct {
		forecast.CalcResult
		Cautions []string `json:"cautions"`
	}{r, cautions}, nil, nil
}

// careRenamed gives the problems of a refusal the names of the fields asked.
func careRenamed(err error, names map[string]string) error {
	var refused *logbook.Error
	if errors.As(err, &refused) {
		refused.Problems = form.Renamed(refused.Problems, names)
	}
	return err
}

// calcSetpointAhead is calc/setpoint with a sentence for an unreachable day.
func calcSetpointAhead(q *form.Query, p *i18n.Printer) (any, map[string]string, error) {
	safe := forecast.Range{Min: units.Celsius(q.Need("min_c")), Max: units.Celsius(q.Need("max_c"))}
	in := forecast.PlanInput{Species: logbook.Species(q.Text("species")), On: q.NeedDay("on"),
		Index: q.Need("development_index"),
		By:    q.NeedDay("swim_up_by"), Now: units.Celsius(q.Need("now_c")), Eggs: safe, Alevins: safe,
		MaxStep: units.CelsiusDelta(q.Need("max_step_c_per_day"))}
	if err := q.Done(); err != nil {
		return nil, nil, err
	}
	a, err := calc.SetpointOf(in, p)
	headline := ""
	if err == nil && !a.Reachable {
		headline = p.T("care_calc.setpoint.unreachable", logbook.Args{"By": in.By})
	}
	return struct {
		calc.SetpointAnswer
		Headline string `json:"headline"`
	}{a, headline}, nil, err
}

// calcDeadFound is calc/dead-count for picks made once a day before.
func calcDeadFound(q *form.Query, p *i18n.Printer) (any, map[string]string, error) {
	atRisk := q.NeedWhole("at_risk", 1, stats.MaxAtRisk)
	today := stats.DaysDead{Days: q.NeedWhole("days", 1, stats.MaxDays), Dead: q.NeedWhole("dead", 0, max(atRisk, 0))}
	stage, known := calc.DeadStages[q.Text("stage")]
	if !known {
		q.Fail("stage", "choice.unknown", nil)
	}
	history := q.Picks("history", atRisk)
	if err := q.Done(); err != nil {
		return nil, nil, err
	}
	a, err := stats.JudgeDeadOnce(stats.DefaultDeadConfig(), atRisk, stage, history, today)
	word := map[stats.DeadFlag]string{stats.DeadNone: "usual", stats.DeadWatch: "watch", stats.DeadAct: "act"}[a.Flag]
	return struct {
		calc.DeadAnswer
		Headline string   `json:"headline"`
		Cautions []string `json:"cautions"`
	}{calc.DeadAnswerOf(a), p.T("care_calc.dead-count." + word), []string{p.T("care_calc.dead-count.look")}}, nil, err
}
