package care

import (
	"reddside/internal/calc"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
	"reddside/internal/water"
	"reddside/internal/web/form"
	"reddside/internal/web/ui"
)

func (s *Service) waterForms(k *waterTests, f *form.Form, problems ui.Problems) []ui.CarePart {
	p := k.p
	action := ui.SeasonPath(k.Season.ID, careWater)
	b := form.FormItems(s.Cat, p, "care_water")
	b.Number("target", f.Raw("target"), "decimal", false)
	b.Number("fresh", f.Raw("fresh"), "decimal", false)
	b.Number("new_temperature", f.Raw("new_temperature"), "decimal", false, map[string]any{"Unit": p.UnitSymbol()})
	b.Number("new_ph", f.Raw("new_ph"), "decimal", false)
	b.Number("chlorine", f.Raw("chlorine"), "decimal", true)
	b.Tick("chloramine", f.Raw("chloramine") != "")
	change := ui.CarePart{ID: "change", Title: p.T("care_water.change"),
		Form: &ui.CareForm{Method: "get", Action: action, Submit: p.T("care_calc.submit"),
			Hidden: []ui.Option{{Value: "asked", Label: "change"}}, Items: b.List, Problems: problems}}
	c := form.FormItems(s.Cat, p, "care_water")
	c.Number("days", f.Raw("days"), "decimal", false)
	c.Number("feed", f.Raw("feed"), "decimal", false)
	weekend := ui.CarePart{ID: "weekend", Title: p.T("care_water.weekend"),
		Form: &ui.CareForm{Method: "get", Action: action, Submit: p.T("care_calc.submit"),
			Hidden: []ui.Option{{Value: "asked", Label: "weekend"}}, Items: c.List, Problems: problems}}
	return []ui.CarePart{change, weekend}
}

// change works out a water change to a target, in steps with a test between them.
func (k *waterTests) change(f *form.Form) *ui.CareAnswer {
	p, v := k.p, float64(k.Season.Tank.Volume)
	target, fresh := careNumber(f, "target"), units.MgPerL(careNumber(f, "fresh"))
	temp, ph := careTemperature(f, "new_temperature", p.Unit()), careNumber(f, "new_ph")
	chlorine, chloramine := f.Number("chlorine"), f.Raw("chloramine") != ""
	if len(f.Problems) > 0 {
		return nil
	}
	fields := map[string]string{"target": "target", "new_water": "fresh", "temperature": "new_temperature",
		"ph": "new_ph", "tan": "fresh", "chlorine": "chlorine", "": "target"}
	if chloramine { // its nitrogen comes along
		n, err := water.ChloramineN(units.MgPerL(chlorine.V))
		if careRange(f, p, err, fields) {
			return nil
		}
		fresh += n
	}
	plan, err := water.PlanChange(k.tan.TAN.V, fresh, units.MgPerL(target))
	if careRange(f, p, err, fields) {
		return nil
	}
	tank := water.Water{T: k.t.V, PH: k.ph.PH.V, TAN: k.tan.TAN.V}
	e, err := water.EffectOfChange(tank, water.Water{T: temp, PH: ph, TAN: fresh}, max(plan.Share, 0))
	if careRange(f, p, err, fields) {
		return nil
	}
	args := logbook.Args{"From": k.tan.TAN.V, "Target": units.MgPerL(target), "Fresh": fresh}
	switch {
	case !plan.Reaches:
		return &ui.CareAnswer{Headline: p.T("care_water.change_never", args), Urgent: true,
			Lines: []string{p.T("care_water.change_else")}}
	case plan.Share == 0:
		return &ui.CareAnswer{Headline: p.T("care_water.change_none")}
	}
	litres := units.Litres(plan.Share * v)
	args["Litres"], args["Percent"], args["Count"], args["Near"] = litres, p.Percent(plan.Share), len(plan.Levels),
		water.NewWaterNear
	a := &ui.CareAnswer{Headline: p.T("care_water.change_answer", args)}
	a.Lines = append(a.Lines, p.T("care_water.verdict.expected", logbook.Args{"Levels": k.levels(plan)}),
		p.T("care_water.change_effect", logbook.Args{"T": e.T, "From": k.t.V, "PH": p.Num(e.WorstPH, 1),
			"NH3": e.Ammonia.NH3}))
	cautions := append([]water.Caution{}, e.Cautions...)
	switch {
	case chlorine.OK:
		dose, err := water.Dechlorination(litres, units.MgPerL(chlorine.V), chloramine)
		if careRange(f, p, err, fields) {
			return nil
		}
		a.Lines = append(a.Lines, p.T("care_water.dose", logbook.Args{"Dose": dose.Pentahydrate,
			"Ml": p.Num(dose.StockML(), 0), "Litres": litres}))
		cautions = append(cautions, dose.Cautions...)
	default:
		a.Lines = append(a.Lines, p.T("care_water.chlorine_first"))
	}
	a.Cautions = calc.CautionTexts(p, cautions)
	return a
}

// weekend says what a stretch without a change does to ammonia, with no help from
// a filter and half of the feed protein: the careful figures.
func (k *waterTests) weekend(f *form.Form) *ui.CareAnswer {
	p := k.p
	days, feed := careNumber(f, "days"), careNumber(f, "feed")
	if len(f.Problems) > 0 {
		return nil
	}
	fields := map[string]string{"days": "days", "feed": "feed", "": "feed"}
	made, err := water.TANFromFeed(units.Grams(feed), water.FryFeedProtein)
	if careRange(f, p, err, fields) {
		return nil
	}
	limit, _ := k.profile.Value(rules.AmmoniaWatch, k.Season.Lot.Species, k.Assessment.Stage.Stage)
	end, err := water.Weekend{TAN: k.tan.TAN.V, Production: made, Volume: k.Season.Tank.Volume, T: k.t.V, PH: k.ph.PH.V,
		LimitNH3: units.MgPerL(limit)}.After(days)
	if careRange(f, p, err, fields) {
		return nil
	}
	args := logbook.Args{"Days": p.Sig(days), "TAN": end.TAN, "NH3": end.Ammonia.NH3, "Limit": units.MgPerL(limit)}
	key := "care_water.weekend_fine"
	if end.DaysToLimit.OK && end.DaysToLimit.V <= days {
		key, args["After"] = "care_water.weekend_over", p.Num(end.DaysToLimit.V, 1)
	}
	return &ui.CareAnswer{Headline: p.T(key, args), Urgent: key == "care_water.weekend_over",
		Lines: []string{p.T("care_water.weekend_end", args), p.T("care_water.weekend_how")}}
}
