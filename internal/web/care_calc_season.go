package web

import (
	"errors"
	"strings"

	"reddside/internal/biology"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/stats"
	"reddside/internal/units"
)

// careSeasonCalcs are the calculators of dates, setpoints, deaths and food. Those
// whose answer in the JSON interface comes from a body share its computation.
func careSeasonCalcs() []careCalc {
	return []careCalc{
		{"forecast", calcForecastAhead, careInputs("species", "start_on", "thermal_units", "mean_temperature_c?", "future_c"),
			[]careOutput{{"events.eyed", "", 0}, {"events.hatch", "", 0}, {"events.swim_up", "", 0}},
			"species=atlantic_salmon&start_on=2026-01-10&thermal_units=300&mean_temperature_c=6&future_c=6"},
		{"setpoint", calcSetpointAhead, careInputs("species", "on", "development_index", "swim_up_by", "now_c", "min_c", "max_c", "max_step_c_per_day"),
			[]careOutput{{"setpoint_c", "°C", 1}, {"p50", "", 0}, {"earliest", "", 0}, {"latest", "", 0}, {"unchanged", "", 0}, {"days_per_half_degree", "d", 1}},
			"species=atlantic_salmon&on=2026-02-10&development_index=0.9&swim_up_by=2026-04-20&now_c=7&min_c=4&max_c=10&max_step_c_per_day=1"},
		{"dead-count", calcDeadFound, careInputs("at_risk", "stage", "days", "dead", "history?"),
			[]careOutput{{"limit", "", 0}, {"act_limit", "", 0}, {"probability", "", 4}, {"expected", "", 2}}, "at_risk=1100&stage=fry&days=1&dead=3"},
		{"ration", calcRation, careInputs("fish", "weight_g", "temperature_c?", "feed_percent?"),
			[]careOutput{{"ration_g", "g", 2}, {"feed_percent", "%", 1}, {"particle_low_mm", "mm", 1}, {"particle_high_mm", "mm", 1}},
			"fish=200&weight_g=0.5&feed_percent=3"},
	}
}

// careDeadStages are the stretches of a season in their order.
var careDeadStages = []string{"arrival", "egg", "hatching", "alevin", "swim_up", "fry"}

// calcForecastAhead is calc/forecast for one steady temperature from a day on.
func calcForecastAhead(q *query, p *i18n.Printer) (any, map[string]string, error) {
	in := forecast.CalcInput{Species: logbook.Species(q.text("species")), StartOn: q.needDay("start_on"),
		ThermalUnits: units.Some(units.ThermalUnits(q.need("thermal_units"))), Future: units.Some(units.Celsius(q.need("future_c")))}
	if v, ok := q.number("mean_temperature_c").Get(); ok {
		in.MeanTemperature = units.Some(units.Celsius(v))
	}
	if err := q.done(); err != nil {
		return nil, nil, err
	}
	r, err := forecast.Calc(in)
	if err != nil {
		return nil, nil, careRenamed(err, map[string]string{"development_index": "thermal_units", "daily_c": "future_c"})
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
		refused.Problems = renamed(refused.Problems, names)
	}
	return err
}

// calcSetpointAhead is calc/setpoint with a sentence for an unreachable day.
func calcSetpointAhead(q *query, p *i18n.Printer) (any, map[string]string, error) {
	safe := forecast.Range{Min: units.Celsius(q.need("min_c")), Max: units.Celsius(q.need("max_c"))}
	in := forecast.PlanInput{Species: logbook.Species(q.text("species")), On: q.needDay("on"), Index: q.need("development_index"),
		By: q.needDay("swim_up_by"), Now: units.Celsius(q.need("now_c")), Eggs: safe, Alevins: safe, MaxStep: units.CelsiusDelta(q.need("max_step_c_per_day"))}
	if err := q.done(); err != nil {
		return nil, nil, err
	}
	a, err := setpointOf(in, p)
	headline := ""
	if err == nil && !a.Reachable {
		headline = p.T("care_calc.setpoint.unreachable", logbook.Args{"By": in.By})
	}
	return struct {
		setpointAnswer
		Headline string `json:"headline"`
	}{a, headline}, nil, err
}

// calcDeadFound is calc/dead-count for picks made once a day before.
func calcDeadFound(q *query, p *i18n.Printer) (any, map[string]string, error) {
	atRisk := q.needWhole("at_risk", 1, stats.MaxAtRisk)
	today := stats.DaysDead{Days: q.needWhole("days", 1, stats.MaxDays), Dead: q.needWhole("dead", 0, max(atRisk, 0))}
	stage, known := deadStages[q.text("stage")]
	if !known {
		q.fail("stage", "choice.unknown", nil)
	}
	history := q.picks("history", atRisk)
	if err := q.done(); err != nil {
		return nil, nil, err
	}
	a, err := stats.JudgeDeadOnce(stats.DefaultDeadConfig(), atRisk, stage, history, today)
	word := map[stats.DeadFlag]string{stats.DeadNone: "usual", stats.DeadWatch: "watch", stats.DeadAct: "act"}[a.Flag]
	return struct {
		deadAnswer
		Headline string   `json:"headline"`
		Cautions []string `json:"cautions"`
	}{deadAnswerOf(a), p.T("care_calc.dead-count." + word), []string{p.T("care_calc.dead-count.look")}}, nil, err
}

// picks reads the dead found at earlier picks, each a day after the one before,
// oldest first: whole numbers with a space, comma or semicolon between.
func (q *query) picks(name string, atRisk int) []stats.DaysDead {
	var out []stats.DaysDead
	total := atRisk
	for _, word := range strings.FieldsFunc(q.text(name), func(r rune) bool { return strings.ContainsRune(" ,;\u00a0\t", r) }) {
		n, key := logbook.ParseCount(word)
		if key != "" || n > stats.MaxAtRisk {
			q.fail(name, "care_calc.history_not", logbook.Args{"Max": stats.MaxAtRisk})
			return nil
		}
		if total += n; total > stats.MaxAtRisk {
			q.fail(name, "calc.too_many_fish", logbook.Args{"Max": stats.MaxAtRisk})
			return nil
		}
		if len(out) == stats.MaxDays {
			q.fail(name, "api.too_many", logbook.Args{"Max": stats.MaxDays})
			return nil
		}
		out = append(out, stats.DaysDead{Days: 1, Dead: n})
	}
	return out
}

// needDay reads a day of the years of calculations that must be there.
func (q *query) needDay(name string) civil.Date {
	if _, sent := q.values[name]; !sent {
		q.known = append(q.known, name)
		q.fail(name, "date.empty", nil)
		return civil.Date{}
	}
	d, key := parseDate(q.text(name))
	if key == "" {
		key = calcYear(d)
	}
	if key != "" {
		q.fail(name, key, calcYears)
		return civil.Date{}
	}
	return d
}

type rationAnswer struct {
	Ration  units.Grams                       `json:"ration_g"`
	Percent float64                           `json:"feed_percent"`
	Low     units.Optional[units.Millimetres] `json:"particle_low_mm"` // null outside the table of particles
	High    units.Optional[units.Millimetres] `json:"particle_high_mm"`
	// Cautions belong beside the answer.
	Cautions []string `json:"cautions"`
}

// calcRation answers calc/ration: the dry food of a day, by the feed table or by
// a share of the body weight that was given.
func calcRation(q *query, p *i18n.Printer) (any, map[string]string, error) {
	fish, weight := q.needWhole("fish", 1, stats.MaxAtRisk), units.Grams(q.need("weight_g"))
	t, percent := q.number("temperature_c"), q.number("feed_percent")
	_, sentT := q.values["temperature_c"]
	_, sentP := q.values["feed_percent"]
	if sentT == sentP {
		q.fail("temperature_c", "calc.temperature_or_percent", nil)
	}
	fields := map[string]string{"temperature": "temperature_c", "fish_weight": "weight_g"}
	if err := q.done(); err != nil {
		return nil, fields, err
	}
	table, err := biology.NewFeedTable()
	if err != nil {
		return nil, fields, err
	}
	a := rationAnswer{Percent: percent.V, Cautions: []string{p.T("calc.ration_guide"), p.T("food.caution_rot"), p.T("food.caution_permit")}}
	if t.OK {
		if a.Percent, err = table.Guide(units.Celsius(t.V), weight); err != nil {
			return nil, fields, err
		}
	}
	if err := units.CheckRange("fish_weight", weight, biology.GrowthLowG, 10000, "g"); err != nil {
		return nil, fields, err
	}
	if a.Ration, err = biology.Ration(fish, weight, a.Percent); err != nil {
		return nil, fields, err
	}
	if x, err := table.ParticleSize(weight); err == nil { // a heavier fish has no size in the table
		a.Low, a.High = units.Some(x.Low), units.Some(x.High)
	}
	return a, fields, nil
}
