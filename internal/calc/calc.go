package calc

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
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

// CalcRoutes are the calculators, open to everybody.
func (s *Service) CalcRoutes(r chi.Router) {
	r = r.With(s.OneByOne)
	r.Get("/calc/oxygen", s.calc(CalcOxygen))
	r.Get("/calc/ammonia", s.calc(CalcAmmonia))
	r.Get("/calc/water-change", s.calc(CalcWaterChange))
	r.Get("/calc/dechlorination", s.calc(CalcDechlorination))
	r.Get("/calc/alkalinity", s.calc(CalcAlkalinity))
	r.Get("/calc/warming", s.calc(CalcWarming))
	r.Get("/calc/ice", s.calc(CalcIce))
	r.Get("/calc/tempering", s.calc(CalcTempering))
	r.Get("/calc/development", s.calc(CalcDevelopment))
	r.Get("/calc/survival", s.calc(CalcSurvival))
	r.Get("/calc/condition", s.calc(CalcCondition))
	r.Get("/calc/ration", s.calc(CalcRation))
	r.Post("/calc/forecast", s.API(s.calcForecast))
	r.Post("/calc/setpoint", s.API(s.calcSetpoint))
	r.Post("/calc/dead-count", s.API(s.calcDeadCount))
}

// Calculator computes an answer from the parameters of an address. It returns
// the names of its parameters by the quantity that a RangeError names.
type Calculator func(q *form.Query, p *i18n.Printer) (answer any, fields map[string]string, err error)

func (s *Service) calc(c Calculator) http.HandlerFunc {
	return s.API(func(w http.ResponseWriter, r *http.Request) error {
		answer, fields, err := c(form.ReadQuery(r), req.Of(r).P)
		if err != nil {
			return OutOfRange(err, fields, req.Of(r).P)
		}
		return req.WriteJSON(w, http.StatusOK, answer)
	})
}

// OutOfRange turns the refusal of a formula into a problem of the parameter,
// with its range in words and never a number that the formula does not hold for.
func OutOfRange(err error, fields map[string]string, p *i18n.Printer) error {
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
		Args: logbook.Args{"Low": form.Quantity(p, out.Low, out.Unit), "High": form.Quantity(p, out.High, out.Unit)}}})
}

// CautionTexts writes the cautions that belong beside an answer.
func CautionTexts(p *i18n.Printer, list []water.Caution) []string {
	out := make([]string, 0, len(list))
	for _, c := range list {
		out = append(out, p.T(string(c), logbook.Args{"Near": water.NewWaterNear}))
	}
	return out
}

type oxygenAnswer struct {
	Saturation units.MgPerL            `json:"saturation_mg_l"`
	Percent    units.Optional[float64] `json:"percent"` // null without a measurement
	Pressure   units.Kilopascal        `json:"pressure_kpa"`
}

func CalcOxygen(q *form.Query, _ *i18n.Printer) (any, map[string]string, error) {
	t := units.Celsius(q.Need("temperature_c"))
	kpa, altitude, measured := q.Number("pressure_kpa"), q.Number("altitude_m"), q.Number("measured_mg_l")
	_, sentP := q.Values["pressure_kpa"]
	_, sentA := q.Values["altitude_m"]
	if sentP == sentA {
		q.Fail("pressure_kpa", "calc.pressure_or_altitude", nil)
	}
	fields := map[string]string{"temperature": "temperature_c", "pressure": "pressure_kpa", "altitude": "altitude_m",
		"oxygen": "measured_mg_l"}
	if err := q.Done(); err != nil {
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

func CalcAmmonia(q *form.Query, _ *i18n.Printer) (any, map[string]string, error) {
	t, ph, tan := q.Need("temperature_c"), q.Need("ph"), q.Need("tan_mg_l")
	fields := map[string]string{"temperature": "temperature_c", "tan": "tan_mg_l"}
	if err := q.Done(); err != nil {
		return nil, fields, err
	}
	a, err := water.UnionisedAmmonia(units.MgPerL(tan), units.Celsius(t), ph)
	return struct {
		Fraction float64      `json:"fraction"`
		NH3N     units.MgPerL `json:"nh3_n_mg_l"`
		NH3      units.MgPerL `json:"nh3_mg_l"`
	}{a.Fraction, a.NH3N, a.NH3}, fields, err
}

func CalcWaterChange(q *form.Query, p *i18n.Printer) (any, map[string]string, error) {
	v, now, fresh, target := q.Need("volume_l"), q.Need("now_mg_l"), q.Need("new_water_mg_l"), q.Need("target_mg_l")
	fields := map[string]string{"volume": "volume_l", "now": "now_mg_l", "new_water": "new_water_mg_l",
		"target": "target_mg_l"}
	if err := q.Done(); err != nil {
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
	}{plan.Share * v, len(plan.Levels), share, share * v, CautionTexts(p, cautions)}, fields, err
}

func CalcDechlorination(q *form.Query, p *i18n.Printer) (any, map[string]string, error) {
	v, cl := q.Need("litres"), q.Need("chlorine_mg_l")
	fields := map[string]string{"volume": "litres", "chlorine": "chlorine_mg_l"}
	if err := q.Done(); err != nil {
		return nil, fields, err
	}
	dose, err := water.Dechlorination(units.Litres(v), units.MgPerL(cl), false)
	return struct {
		Pentahydrate units.Grams `json:"sodium_thiosulfate_pentahydrate_g"`
		Anhydrous    units.Grams `json:"sodium_thiosulfate_anhydrous_g"`
		StockML      float64     `json:"stock_10_g_per_l_ml"`
		Cautions     []string    `json:"cautions"`
	}{dose.Pentahydrate, dose.Anhydrous, dose.StockML(), CautionTexts(p, dose.Cautions)}, fields, err
}

func CalcAlkalinity(q *form.Query, p *i18n.Printer) (any, map[string]string, error) {
	v, now := q.Need("volume_l"), q.Need("alkalinity_mg_l")
	fields := map[string]string{"volume": "volume_l", "alkalinity": "alkalinity_mg_l"}
	if err := q.Done(); err != nil {
		return nil, fields, err
	}
	g, raise, err := water.BicarbonateStep(units.Litres(v), units.MgPerL(now))
	return struct {
		Bicarbonate units.Grams  `json:"bicarbonate_g"`
		Raise       units.MgPerL `json:"raise_mg_l"`
		Cautions    []string     `json:"cautions"`
	}{g, raise, CautionTexts(p, []water.Caution{water.CautionAdultChemicals, water.CautionPHAmmonia,
		water.CautionOnWord})}, fields, err
}

type warmingAnswer struct {
	TimeConstant float64                       `json:"time_constant_h"`
	HoursToLimit units.Optional[float64]       `json:"hours_to_limit"` // null when never
	Temperature  units.Optional[units.Celsius] `json:"temperature_c"`  // null without hours
	Cautions     []string                      `json:"cautions"`
}

func CalcWarming(q *form.Query, p *i18n.Printer) (any, map[string]string, error) {
	w := water.Warming{Volume: units.Litres(q.Need("volume_l")), UA: q.Need("ua_w_per_k"),
		Tank: units.Celsius(q.Need("tank_c")), Room: units.Celsius(q.Need("room_c"))}
	limit := units.Celsius(q.Need("limit_c"))
	w.HeatW = q.Number("heat_w").V // absent: the power is out and nothing heats
	hours := q.Number("hours")
	fields := map[string]string{"volume": "volume_l", "ua": "ua_w_per_k", "tank_temperature": "tank_c",
		"room_temperature": "room_c",
		"limit":            "limit_c", "heat": "heat_w"}
	if err := q.Done(); err != nil {
		return nil, fields, err
	}
	a := warmingAnswer{Cautions: CautionTexts(p, water.WarmingCautions())}
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

func CalcIce(q *form.Query, p *i18n.Printer) (any, map[string]string, error) {
	v, from, to := q.Need("volume_l"), q.Need("from_c"), q.Need("to_c")
	ice := q.Number("ice_c").Or(0)
	fields := map[string]string{"volume": "volume_l", "from": "from_c", "to": "to_c", "ice_temperature": "ice_c"}
	if err := q.Done(); err != nil {
		return nil, fields, err
	}
	kg, err := water.IceToLower(units.Litres(v), units.Celsius(from), units.Celsius(to), units.Celsius(ice))
	return struct {
		Ice      float64  `json:"ice_kg"`
		Cautions []string `json:"cautions"`
	}{kg, CautionTexts(p, []water.Caution{water.CautionSealedIce})}, fields, err
}

func CalcTempering(q *form.Query, _ *i18n.Printer) (any, map[string]string, error) {
	from, to, share, within := q.Need("from_c"), q.Need("to_c"), q.Need("fraction_per_step"), q.Need("within_c")
	fields := map[string]string{"from": "from_c", "to": "to_c", "fraction": "fraction_per_step", "within": "within_c"}
	if err := q.Done(); err != nil {
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

func CalcDevelopment(q *form.Query, p *i18n.Printer) (any, map[string]string, error) {
	species, t := q.Text("species"), q.Need("temperature_c")
	if _, sent := q.Values["species"]; !sent {
		q.Fail("species", "api.missing", nil)
	}
	if err := q.Done(); err != nil {
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

func CalcSurvival(q *form.Query, p *i18n.Printer) (any, map[string]string, error) {
	total := q.NeedWhole("total", 1, stats.MaxAtRisk)
	alive := q.NeedWhole("alive", 0, max(total, 1))
	level := q.Need("level")
	if len(q.Problems) == 0 && (level < minLevel || level > maxLevel) {
		q.Fail("level", "number.between", logbook.Args{"Min": p.Sig(minLevel), "Max": p.Num(maxLevel, 4)})
	}
	if err := q.Done(); err != nil {
		return nil, nil, err
	}
	a, err := SurvivalOf(alive, total, level)
	return a, nil, err
}

// Bounds of a confidence level that is of use to anybody.
const (
	minLevel = 0.5
	maxLevel = 0.9999
)

type SurvivalAnswer struct {
	Estimate float64 `json:"estimate"`
	Lower    float64 `json:"lower"`
	Upper    float64 `json:"upper"`
}

func SurvivalOf(alive, total int, level float64) (SurvivalAnswer, error) {
	iv, err := stats.ClopperPearson(alive, total, level)
	return SurvivalAnswer{Estimate: float64(alive) / float64(total), Lower: iv.Lower, Upper: iv.Upper}, err
}

func CalcCondition(q *form.Query, _ *i18n.Printer) (any, map[string]string, error) {
	g, mm := q.Need("weight_g"), q.Need("length_mm")
	fields := map[string]string{"fish_weight": "weight_g", "length": "length_mm"}
	if err := q.Done(); err != nil {
		return nil, fields, err
	}
	k, err := biology.Condition(units.Grams(g), units.Millimetres(mm))
	return struct {
		K float64 `json:"k"`
	}{k}, fields, err
}
