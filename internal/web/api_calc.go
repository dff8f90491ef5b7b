package web

import (
	"errors"
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/biology"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/stats"
	"reddside/internal/units"
	"reddside/internal/water"
)

// calcRoutes are the calculators, open to everybody.
func (s *Server) calcRoutes(r chi.Router) {
	r = r.With(s.oneByOne)
	r.Get("/calc/oxygen", s.calc(calcOxygen))
	r.Get("/calc/ammonia", s.calc(calcAmmonia))
	r.Get("/calc/water-change", s.calc(calcWaterChange))
	r.Get("/calc/dechlorination", s.calc(calcDechlorination))
	r.Get("/calc/alkalinity", s.calc(calcAlkalinity))
	r.Get("/calc/warming", s.calc(calcWarming))
	r.Get("/calc/ice", s.calc(calcIce))
	r.Get("/calc/tempering", s.calc(calcTempering))
	r.Get("/calc/development", s.calc(calcDevelopment))
	r.Get("/calc/survival", s.calc(calcSurvival))
	r.Get("/calc/condition", s.calc(calcCondition))
	r.Get("/calc/ration", s.calc(calcRation))
	r.Post("/calc/forecast", s.api(s.calcForecast))
	r.Post("/calc/setpoint", s.api(s.calcSetpoint))
	r.Post("/calc/dead-count", s.api(s.calcDeadCount))
}

// calculator computes an answer from the parameters of an address. It returns
// the names of its parameters by the quantity that a RangeError names.
type calculator func(q *query, p *i18n.Printer) (answer any, fields map[string]string, err error)

func (s *Server) calc(c calculator) http.HandlerFunc {
	return s.api(func(w http.ResponseWriter, r *http.Request) error {
		answer, fields, err := c(readQuery(r), visitOf(r).p)
		if err != nil {
			return outOfRange(err, fields, visitOf(r).p)
		}
		return writeJSON(w, http.StatusOK, answer)
	})
}

// outOfRange turns the refusal of a formula into a problem of the parameter,
// with its range in words and never a number that the formula does not hold for.
func outOfRange(err error, fields map[string]string, p *i18n.Printer) error {
	var out units.RangeError
	if !errors.As(err, &out) {
		return err
	}
	field, key := fields[out.Quantity], "calc.between"
	if out.Quantity == "temperature_after" {
		field, key = "hours", "calc.result_between"
	}
	if field == "" {
		field = out.Quantity
	}
	return logbook.Refuse([]logbook.Problem{{Field: field, Key: key,
		Args: logbook.Args{"Low": quantity(p, out.Low, out.Unit), "High": quantity(p, out.High, out.Unit)}}})
}

// quantity writes a number with its unit. Calculators answer in the units of
// their parameters' names, so Celsius stays Celsius.
func quantity(p *i18n.Printer, v float64, unit string) string {
	switch unit {
	case "":
		return p.Sig(v)
	case "Cel", "K":
		unit = "°C"
	}
	return p.Sig(v) + "\u00a0" + unit
}

// cautionTexts writes the cautions that belong beside an answer.
func cautionTexts(p *i18n.Printer, list []water.Caution) []string {
	out := make([]string, 0, len(list))
	for _, c := range list {
		out = append(out, p.T(string(c)))
	}
	return out
}

type oxygenAnswer struct {
	Saturation units.MgPerL            `json:"saturation_mg_l"`
	Percent    units.Optional[float64] `json:"percent"` // null without a measurement
	Pressure   units.Kilopascal        `json:"pressure_kpa"`
}

func calcOxygen(q *query, _ *i18n.Printer) (any, map[string]string, error) {
	t := units.Celsius(q.need("temperature_c"))
	kpa, altitude, measured := q.number("pressure_kpa"), q.number("altitude_m"), q.number("measured_mg_l")
	_, sentP := q.values["pressure_kpa"]
	_, sentA := q.values["altitude_m"]
	if sentP == sentA {
		q.fail("pressure_kpa", "calc.pressure_or_altitude", nil)
	}
	fields := map[string]string{"temperature": "temperature_c", "pressure": "pressure_kpa", "altitude": "altitude_m", "oxygen": "measured_mg_l"}
	if err := q.done(); err != nil {
		return nil, fields, err
	}
	a := oxygenAnswer{Pressure: units.Kilopascal(kpa.V)}
	var err error
	if altitude.OK {
		if a.Pressure, err = water.PressureAtAltitude(units.Metres(altitude.V)); err != nil {
			return nil, fields, err
		}
	}
	if a.Saturation, err = water.Saturation(t, a.Pressure); err != nil {
		return nil, fields, err
	}
	if measured.OK {
		percent, err := water.PercentSaturation(units.MgPerL(measured.V), t, a.Pressure)
		if err != nil {
			return nil, fields, err
		}
		a.Percent = units.Some(percent)
	}
	return a, fields, nil
}

func calcAmmonia(q *query, _ *i18n.Printer) (any, map[string]string, error) {
	t, ph, tan := q.need("temperature_c"), q.need("ph"), q.need("tan_mg_l")
	fields := map[string]string{"temperature": "temperature_c", "tan": "tan_mg_l"}
	if err := q.done(); err != nil {
		return nil, fields, err
	}
	a, err := water.UnionisedAmmonia(units.MgPerL(tan), units.Celsius(t), ph)
	return struct {
		Fraction float64      `json:"fraction"`
		NH3N     units.MgPerL `json:"nh3_n_mg_l"`
		NH3      units.MgPerL `json:"nh3_mg_l"`
	}{a.Fraction, a.NH3N, a.NH3}, fields, err
}

func calcWaterChange(q *query, p *i18n.Printer) (any, map[string]string, error) {
	v, now, fresh, target := q.need("volume_l"), q.need("now_mg_l"), q.need("new_water_mg_l"), q.need("target_mg_l")
	fields := map[string]string{"volume": "volume_l", "now": "now_mg_l", "new_water": "new_water_mg_l", "target": "target_mg_l"}
	if err := q.done(); err != nil {
		return nil, fields, err
	}
	if err := units.CheckRange("volume", v, water.VolumeLowL, water.VolumeHighL, "L"); err != nil {
		return nil, fields, err
	}
	share, err := water.ChangeFraction(units.MgPerL(now), units.MgPerL(fresh), units.MgPerL(target))
	cautions := []water.Caution{}
	if err != nil {
		return nil, fields, err
	}
	plan, err := water.PlanChange(units.MgPerL(now), units.MgPerL(fresh), units.MgPerL(target))
	if share > 0 {
		cautions = append(cautions, water.CautionLargeChange)
	}
	return struct {
		Step     float64  `json:"step_litres"` // at each change
		Changes  int      `json:"changes"`
		Fraction float64  `json:"fraction"` // at once; not to be done when it is large
		Litres   float64  `json:"litres"`
		Cautions []string `json:"cautions"`
	}{plan.Share * v, len(plan.Levels), share, share * v, cautionTexts(p, cautions)}, fields, err
}

func calcDechlorination(q *query, p *i18n.Printer) (any, map[string]string, error) {
	v, cl := q.need("litres"), q.need("chlorine_mg_l")
	fields := map[string]string{"volume": "litres", "chlorine": "chlorine_mg_l"}
	if err := q.done(); err != nil {
		return nil, fields, err
	}
	dose, err := water.Dechlorination(units.Litres(v), units.MgPerL(cl), false)
	return struct {
		Pentahydrate units.Grams `json:"sodium_thiosulfate_pentahydrate_g"`
		Anhydrous    units.Grams `json:"sodium_thiosulfate_anhydrous_g"`
		StockML      float64     `json:"stock_10_g_per_l_ml"`
		Cautions     []string    `json:"cautions"`
	}{dose.Pentahydrate, dose.Anhydrous, dose.StockML(), cautionTexts(p, dose.Cautions)}, fields, err
}

func calcAlkalinity(q *query, p *i18n.Printer) (any, map[string]string, error) {
	v, now := q.need("volume_l"), q.need("alkalinity_mg_l")
	fields := map[string]string{"volume": "volume_l", "alkalinity": "alkalinity_mg_l"}
	if err := q.done(); err != nil {
		return nil, fields, err
	}
	g, raise, err := water.BicarbonateStep(units.Litres(v), units.MgPerL(now))
	return struct {
		Bicarbonate units.Grams  `json:"bicarbonate_g"`
		Raise       units.MgPerL `json:"raise_mg_l"`
		Cautions    []string     `json:"cautions"`
	}{g, raise, cautionTexts(p, []water.Caution{water.CautionAdultChemicals, water.CautionPHAmmonia, water.CautionOnWord})}, fields, err
}

type warmingAnswer struct {
	TimeConstant float64                       `json:"time_constant_h"`
	HoursToLimit units.Optional[float64]       `json:"hours_to_limit"` // null when never
	Temperature  units.Optional[units.Celsius] `json:"temperature_c"`  // null without hours
	Cautions     []string                      `json:"cautions"`
}

func calcWarming(q *query, p *i18n.Printer) (any, map[string]string, error) {
	w := water.Warming{Volume: units.Litres(q.need("volume_l")), UA: q.need("ua_w_per_k"),
		Tank: units.Celsius(q.need("tank_c")), Room: units.Celsius(q.need("room_c"))}
	limit := units.Celsius(q.need("limit_c"))
	w.HeatW = q.number("heat_w").V // absent: the power is out and nothing heats
	hours := q.number("hours")
	fields := map[string]string{"volume": "volume_l", "ua": "ua_w_per_k", "tank_temperature": "tank_c", "room_temperature": "room_c",
		"limit": "limit_c", "heat": "heat_w"}
	if err := q.done(); err != nil {
		return nil, fields, err
	}
	a := warmingAnswer{Cautions: cautionTexts(p, water.WarmingCautions())}
	var err error
	if a.TimeConstant, err = w.TimeConstant(); err != nil {
		return nil, fields, err
	}
	if a.HoursToLimit, err = w.HoursToLimit(limit); err != nil {
		return nil, fields, err
	}
	if hours.OK {
		t, err := w.After(hours.V)
		if err != nil {
			return nil, fields, err
		}
		a.Temperature = units.Some(t)
	}
	return a, fields, nil
}

func calcIce(q *query, p *i18n.Printer) (any, map[string]string, error) {
	v, from, to := q.need("volume_l"), q.need("from_c"), q.need("to_c")
	ice := q.number("ice_c").Or(0)
	fields := map[string]string{"volume": "volume_l", "from": "from_c", "to": "to_c", "ice_temperature": "ice_c"}
	if err := q.done(); err != nil {
		return nil, fields, err
	}
	kg, err := water.IceToLower(units.Litres(v), units.Celsius(from), units.Celsius(to), units.Celsius(ice))
	return struct {
		Ice      float64  `json:"ice_kg"`
		Cautions []string `json:"cautions"`
	}{kg, cautionTexts(p, []water.Caution{water.CautionSealedIce})}, fields, err
}

func calcTempering(q *query, _ *i18n.Printer) (any, map[string]string, error) {
	from, to, share, within := q.need("from_c"), q.need("to_c"), q.need("fraction_per_step"), q.need("within_c")
	fields := map[string]string{"from": "from_c", "to": "to_c", "fraction": "fraction_per_step", "within": "within_c"}
	if err := q.done(); err != nil {
		return nil, fields, err
	}
	list, err := water.Tempering(units.Celsius(from), units.Celsius(to), share, units.CelsiusDelta(within))
	if list == nil {
		list = []units.Celsius{}
	}
	return struct {
		Steps        int             `json:"steps"`
		Temperatures []units.Celsius `json:"temperatures_c"`
	}{len(list), list}, fields, err
}

func calcDevelopment(q *query, p *i18n.Printer) (any, map[string]string, error) {
	species, t := q.text("species"), q.need("temperature_c")
	if _, sent := q.values["species"]; !sent {
		q.fail("species", "api.missing", nil)
	}
	if err := q.done(); err != nil {
		return nil, nil, err
	}
	a, err := forecast.AtConstant(logbook.Species(species), units.Celsius(t))
	cautions := []string{}
	if a.EggsDie {
		cautions = append(cautions, p.T("care_calc.eggs_die"))
	}
	return struct {
		forecast.ConstantResult
		Cautions []string `json:"cautions"` // belong beside the answer
	}{a, cautions}, nil, err
}

func calcSurvival(q *query, p *i18n.Printer) (any, map[string]string, error) {
	total := q.needWhole("total", 1, stats.MaxAtRisk)
	alive := q.needWhole("alive", 0, max(total, 1))
	level := q.need("level")
	if len(q.problems) == 0 && (level < minLevel || level > maxLevel) {
		q.fail("level", "number.between", logbook.Args{"Min": p.Sig(minLevel), "Max": p.Num(maxLevel, 4)})
	}
	if err := q.done(); err != nil {
		return nil, nil, err
	}
	a, err := survivalOf(alive, total, level)
	return a, nil, err
}

// Bounds of a confidence level that is of use to anybody.
const (
	minLevel = 0.5
	maxLevel = 0.9999
)

type survivalAnswer struct {
	Estimate float64 `json:"estimate"`
	Lower    float64 `json:"lower"`
	Upper    float64 `json:"upper"`
}

func survivalOf(alive, total int, level float64) (survivalAnswer, error) {
	iv, err := stats.ClopperPearson(alive, total, level)
	return survivalAnswer{Estimate: float64(alive) / float64(total), Lower: iv.Lower, Upper: iv.Upper}, err
}

func calcCondition(q *query, _ *i18n.Printer) (any, map[string]string, error) {
	g, mm := q.need("weight_g"), q.need("length_mm")
	fields := map[string]string{"fish_weight": "weight_g", "length": "length_mm"}
	if err := q.done(); err != nil {
		return nil, fields, err
	}
	k, err := biology.Condition(units.Grams(g), units.Millimetres(mm))
	return struct {
		K float64 `json:"k"`
	}{k}, fields, err
}
