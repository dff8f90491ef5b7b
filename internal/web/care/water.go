package care

import (
	"net/http"

	"reddside/internal/assess"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
	"reddside/internal/water"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// carePHError is half a step of a pH colour card (from memory: steps 0.2 to 0.4).
const carePHError = 0.2

// careLevels are the keys of judgements.
var careLevels = map[water.Level]string{water.Within: "within", water.Warn: "warn", water.Alarm: "alarm"}

// waterTests are the newest tests of a tank.
type waterTests struct {
	assess.Result
	profile *rules.Profile
	p       *i18n.Printer
	sets    []water.LimitSet
	kit     logbook.Kit

	tan, ph, oxygen, nitrite, nitrate *logbook.Check // newest with each
	chlorine, alkalinity              *logbook.Check
	t                                 units.Optional[units.Celsius]
}

// waterShow shows the newest water tests against named limits, and works out a
// water change or a weekend.
func (s *Service) waterShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	k := &waterTests{}
	if k.Result, err = s.Assess.Assess(r.Context(), season, v.Now); err != nil {
		return err
	}
	if k.profile, err = s.Assess.Profile(r.Context()); err != nil {
		return err
	}
	if k.sets, err = water.LimitSets(); err != nil {
		return err
	}
	if k.kit, err = s.DB.Kit(r.Context(), season.Site.ID); err != nil {
		return err
	}
	m := s.carePage(r, season, "care.water", careWater)
	k.p = m.P
	k.newest()
	f, asked := careAsked(r)
	if asked && k.known() {
		switch f.Text("asked") {
		case "change":
			m.Answer = k.change(f)
		case "weekend":
			m.Answer = k.weekend(f)
		}
		m.Problems = form.ShowProblems(m.P, f.Problems, func(field string) string {
			return m.P.T("care_water."+field, logbook.Args{"Unit": m.P.UnitSymbol()})
		})
	}
	status := http.StatusOK
	if m.Error = len(m.Problems) > 0; m.Error {
		status, m.Answer = http.StatusUnprocessableEntity, nil
	}
	tests, err := k.tests()
	if err != nil {
		return err
	}
	tests.Links = append(tests.Links, ui.CareLink{Href: ui.SeasonPath(season.ID, "/checks/new#water-tests"),
		Label: m.T("care_water.write")})
	if v.Actor.Role != logbook.Class {
		tests.Links = append(tests.Links, ui.CareLink{Href: ui.SitePath(season.Site.ID, "/kit"),
			Label: m.T("kit.title")})
	}
	m.Parts = append(m.Parts, tests)
	if k.known() {
		m.Parts = append(m.Parts, s.waterForms(k, f, m.Problems)...)
	} else {
		m.Parts = append(m.Parts, ui.CarePart{ID: "missing", Title: m.T("care_water.change"),
			Lines: []string{m.T("care_water.missing")}})
	}
	return s.Render(w, r, status, ui.CarePageView(m))
}

func (k *waterTests) newest() {
	find := func(has func(*logbook.Check) bool) *logbook.Check {
		for i := len(k.Season.Checks) - 1; i >= 0; i-- {
			if c := &k.Season.Checks[i]; has(c) {
				return c
			}
		}
		return nil
	}
	k.tan = find(func(c *logbook.Check) bool { return c.TAN.OK })
	k.ph = find(func(c *logbook.Check) bool { return c.PH.OK })
	k.oxygen = find(func(c *logbook.Check) bool { return c.Oxygen.OK })
	k.nitrite = find(func(c *logbook.Check) bool { return c.Nitrite.OK })
	k.nitrate = find(func(c *logbook.Check) bool { return c.Nitrate.OK })
	k.chlorine = find(func(c *logbook.Check) bool { return c.Chlorine.OK })
	k.alkalinity = find(func(c *logbook.Check) bool { return c.Alkalinity.OK })
	if t := k.Assessment.Temperature; !t.On.IsZero() {
		k.t = units.Some(t.Value)
	}
}

// known reports whether ammonia, pH and temperature are all known.
func (k *waterTests) known() bool { return k.tan != nil && k.ph != nil && k.t.OK }

// at is the temperature at a check, else the latest one.
func (k *waterTests) at(c *logbook.Check) (units.Celsius, bool) {
	if c.Temperature.OK {
		return c.Temperature.V, true
	}
	return k.t.V, k.t.OK
}

// withAmmonia is the water in which the newest ammonia is judged: of the same
// check where it has them.
func (k *waterTests) withAmmonia() (units.Celsius, float64) {
	t, _ := k.at(k.tan)
	if k.tan.PH.OK {
		return t, k.tan.PH.V
	}
	return t, k.ph.PH.V
}

// tests writes the newest tests and how the named sets of limits judge them.
func (k *waterTests) tests() (part ui.CarePart, err error) {
	p := k.p
	part = ui.CarePart{ID: "tests", Title: p.T("care_water.tests"), Cautions: []string{p.T("care_water.hands")},
		Sources: []string{p.T("care_water.sets")},
		Fold:    p.T("care_water.judged_fold")}
	table := &ui.DataTable{Caption: p.T("care_water.judged")}
	verdict := k.judgeNewest()
	for _, c := range []string{"test", "set", "judgement", "source"} {
		table.Columns = append(table.Columns, ui.DataColumn{Label: p.T("care_water.col." + c)})
	}
	add := func(key, value string, on *logbook.Check) {
		value = p.T("care_water.value_on", logbook.Args{"Value": value, "On": p.DateShort(on.On)})
		part.Facts = append(part.Facts, ui.Fact{Label: p.T("care_water." + key), Value: verdict.about(key, value)})
	}
	judge := func(key, parameter, stage string, by func(water.Limit) (water.Level, error)) error {
		for _, set := range k.sets {
			l, ok := set.Limit(parameter, stage)
			if !ok {
				continue
			}
			level, err := by(l)
			if err != nil {
				return err
			}
			table.Rows = append(table.Rows, []string{p.T("care_water." + key), set.Name,
				p.T("care_water.level." + careLevels[level]),
				p.T("care.source_known",
					logbook.Args{"Source": l.Source, "Known": p.T("care.known." + words.KnownBy(l.How))})})
		}
		return nil
	}
	plain := func(v float64) func(water.Limit) (water.Level, error) {
		return func(l water.Limit) (water.Level, error) { return l.Judge(v) }
	}
	if k.ph != nil {
		add("ph_value", p.Num(k.ph.PH.V, 1), k.ph)
		if err := judge("ph_value", water.ParamPH, water.StageAny, plain(k.ph.PH.V)); err != nil {
			return part, err
		}
	}
	if k.tan != nil {
		value := p.Value(k.tan.TAN.V)
		if k.kit.Known() && k.kit.Basis != logbook.KitAsN {
			value = p.T("kit.value", logbook.Args{"Value": k.tan.TAN.V, "Figure": words.KitFigure(k.tan.TAN.V,
				k.kit.Basis), "As": p.T("kit.short." + string(k.kit.Basis)), "Kit": k.kit.Name})
		}
		add("tan", value, k.tan)
		if !k.kit.Known() {
			part.Lines = append(part.Lines, p.T("kit.unknown"))
		}
	}
	if k.known() {
		if err := k.ammonia(&part, verdict, judge); err != nil {
			return part, err
		}
	}
	if k.nitrite != nil {
		add("nitrite", p.Value(k.nitrite.Nitrite.V), k.nitrite)
		if err := judge("nitrite", water.ParamNitriteN, water.StageAny,
			plain(float64(k.nitrite.Nitrite.V))); err != nil {
			return part, err
		}
	}
	if k.nitrate != nil { // the log holds it as N, the limit is as the ion
		add("nitrate", p.Value(k.nitrate.Nitrate.V), k.nitrate)
		if err := judge("nitrate", water.ParamNitrate, water.StageAny,
			plain(float64(water.NO3.FromN(k.nitrate.Nitrate.V)))); err != nil {
			return part, err
		}
	}
	if k.oxygen != nil {
		if err := k.breath(&part, verdict, judge); err != nil {
			return part, err
		}
	}
	if k.chlorine != nil {
		add("chlorine_left", p.Value(k.chlorine.Chlorine.V), k.chlorine)
	}
	if k.alkalinity != nil {
		add("alkalinity", p.Value(k.alkalinity.Alkalinity.V), k.alkalinity)
	}
	if len(part.Facts) == 0 {
		part.Lines = append(part.Lines, p.T("care_water.none"))
	} else if part.Answer, err = verdict.answer(); err != nil {
		return part, err
	}
	if len(table.Rows) > 0 {
		part.Table = table
	}
	return part, nil
}

type careJudge func(key, parameter, stage string, by func(water.Limit) (water.Level, error)) error

// ammonia writes the un-ionised ammonia with the reading error of colour kits.
func (k *waterTests) ammonia(part *ui.CarePart, verdict *waterVerdict, judge careJudge) error {
	t, ph := k.withAmmonia()
	a, err := water.UnionisedAmmonia(k.tan.TAN.V, t, ph)
	if err != nil {
		return err
	}
	reading := kitAround(k.kit, k.tan.TAN.V)
	low, high, err := water.KitAmmonia(reading, t, ph, carePHError)
	if err != nil {
		return err
	}
	key := "care_water.nh3_range"
	switch {
	case high.NH3 < leastAmmonia:
		key = "care_water.nh3_tiny"
	case low.NH3 < leastAmmonia:
		key = "care_water.nh3_up_to"
	}
	if reading.Beyond {
		key = "care_water.nh3_beyond"
	}
	verdict.reachedBy(high.NH3)
	part.Facts = append(part.Facts, ui.Fact{Label: k.p.T("care_water.nh3"),
		Value: verdict.about("nh3", k.p.T(key, logbook.Args{"Value": aboutAmmonia(k.p, a.NH3),
			"Low": low.NH3, "High": high.NH3, "PH": k.p.Num(ph, 1), "T": t}))})
	return judge("nh3", water.ParamUnionisedAmmonia, water.StageAny,
		func(l water.Limit) (water.Level, error) { return l.JudgeAmmonia(a) })
}

// leastAmmonia is the un-ionised ammonia under which no number is written: no kit
// of a school comes near it, and more digits would look measured. A local choice.
const leastAmmonia units.MgPerL = 0.001

func aboutAmmonia(p *i18n.Printer, v units.MgPerL) any {
	if v < leastAmmonia {
		return p.T("format.under", logbook.Args{"Value": leastAmmonia})
	}
	return v
}

// breath writes the oxygen as a share of what the water holds at the school's
// altitude. Eggs in a basket are never judged as buried ones.
func (k *waterTests) breath(part *ui.CarePart, verdict *waterVerdict, judge careJudge) error {
	p, o := k.p, k.oxygen.Oxygen.V
	args := logbook.Args{"Value": o, "On": p.DateShort(k.oxygen.On)}
	key := "care_water.oxygen_plain"
	if t, ok := k.at(k.oxygen); ok {
		press, known, err := carePressure(k.Season.Site)
		if err != nil {
			return err
		}
		percent, err := water.PercentSaturation(o, t, press)
		if err != nil {
			return err
		}
		args["Percent"], args["Altitude"] = p.Num(percent, 0), k.Season.Site.Altitude.V
		if key = "care_water.oxygen_at"; !known {
			key = "care_water.oxygen_sea"
		}
	}
	part.Facts = append(part.Facts, ui.Fact{Label: p.T("care_water.oxygen"),
		Value: verdict.about("oxygen", p.T(key, args))})
	stage := water.StageFry
	if s := k.Assessment.Stage.Stage.Order(); s > 0 && s <= logbook.Alevin.Order() {
		stage = water.StageEggsInBasket
	}
	return judge("oxygen", water.ParamOxygen, stage,
		func(l water.Limit) (water.Level, error) { return l.Judge(float64(o)) })
}
