package care

import (
	"net/http"

	"reddside/internal/assess"
	"reddside/internal/biology"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/rules"
	"reddside/internal/units"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// foodShow answers how much food there is today, and shows the working.
func (s *Service) foodShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	a, err := s.Assess.Assess(r.Context(), season, v.Now)
	if err != nil {
		return err
	}
	profile, err := s.Assess.Profile(r.Context())
	if err != nil {
		return err
	}
	sheet, err := report.FeedOf(season, a.Today, &a.Forecast, &a.Assessment, profile)
	if err != nil {
		return err
	}
	m := s.carePage(r, season, "food.title", ui.PageFood)
	m.Styles = append(m.Styles, "food.css")
	k := foodPage{Result: a, p: m.P, sheet: &sheet, staff: v.Actor.Role != logbook.Class}
	m.Answer = k.answer()
	m.Parts = append(m.Parts, k.working())
	if part := k.log(); part.Table != nil {
		m.Parts = append(m.Parts, part)
	}
	if part := k.filter(); len(part.Lines) > 0 {
		m.Parts = append(m.Parts, part)
	}
	m.Parts = append(m.Parts, k.samples(), k.practice())
	return s.Render(w, r, http.StatusOK, ui.CarePageView(m))
}

// foodPage writes the food of a tank.
type foodPage struct {
	assess.Result
	p     *i18n.Printer
	sheet *report.FeedSheet
	staff bool
}

// grams writes food as a kitchen scale shows it: to 0.1 g, small amounts finer.
func (k *foodPage) grams(g units.Grams) string {
	decimals := 1
	if g < 1 && g > 0 {
		decimals = 2
	}
	return k.p.Num(float64(g), decimals) + "\u00a0g"
}

func (k *foodPage) answer() *ui.CareAnswer {
	p, x, today := k.p, k.sheet, k.sheet.Today
	switch x.State {
	case report.FeedOver, report.FeedNever:
		return &ui.CareAnswer{Headline: p.T("food.answer." + string(x.State))}
	case report.FeedNotYet:
		w := &x.SwimUp
		if !w.Ok() {
			return &ui.CareAnswer{Headline: p.T("food.answer.not_yet_unknown"), Lines: []string{p.T("food.yolk")}}
		}
		return &ui.CareAnswer{Headline: p.T("food.answer.not_yet", logbook.Args{"From": p.DayMonth(w.P10),
			"To": p.DayMonth(w.P90)}),
			Lines: []string{p.T("food.yolk")}}
	case report.FeedHeld:
		return k.held()
	case report.FeedCold:
		from := report.GrowthFrom(k.Season.Lot.Species).V
		return &ui.CareAnswer{Headline: p.T("food.answer.cold", logbook.Args{"From": from}),
			Lines: []string{p.T("food.cold_why", logbook.Args{"From": from})}}
	case report.FeedOutside:
		cold, warm, light, heavy := x.Table.Range()
		return &ui.CareAnswer{Headline: p.T("food.answer.outside"),
			Lines: []string{p.T("food.outside_why", logbook.Args{
				"Cold": cold, "Warm": warm, "Light": light, "Heavy": heavy})}}
	}
	a := &ui.CareAnswer{Headline: p.T("food.answer.now", logbook.Args{"Ration": k.grams(today.Ration.V),
		"Count": x.Meals})}
	a.Lines = []string{p.T("food.each_meal", logbook.Args{"Meal": k.grams(today.Ration.V / units.Grams(x.Meals))})}
	if x.Particle.High > 0 {
		a.Lines = append(a.Lines, p.T("food.particle", logbook.Args{"Size": k.particle()}))
	}
	if x.Began.IsZero() {
		a.Lines = append(a.Lines, p.T("food.first"))
	}
	if today.Fed.OK {
		key := "food.left"
		if today.Fed.V >= today.Ration.V {
			key = "food.all_given"
		}
		a.Lines = append(a.Lines, p.T(key, logbook.Args{"Fed": k.grams(today.Fed.V),
			"Left": k.grams(max(0, today.Ration.V-today.Fed.V))}))
	}
	return a
}

func (k *foodPage) particle() string {
	x := k.sheet.Particle
	if x.Low == x.High {
		return k.p.Value(x.High)
	}
	return k.p.Num(float64(x.Low), 1) + " – " + k.p.Value(x.High)
}

func (k *foodPage) held() *ui.CareAnswer {
	p, h := k.p, k.sheet.Hold
	if h.Reason == rules.HoldFlag {
		return &ui.CareAnswer{Headline: p.T("food.answer.held_flag", logbook.Args{"Why": p.T(h.Name.Key)}),
			Urgent: true,
			Lines:  []string{p.T(h.Why.Key, h.Why.Args), p.T("food.held_flag")}}
	}
	args := logbook.Args{"NH3": h.NH3, "Limit": h.Limit, "From": p.DayMonth(h.From), "To": p.DayMonth(h.To),
		"Release": p.DayMonth(h.Release), "Source": h.Source}
	a := &ui.CareAnswer{Headline: p.T("food.answer.held_"+string(h.Reason), args),
		Urgent: h.Reason == rules.HoldAmmonia}
	a.Lines = []string{p.T("food.held_"+string(h.Reason), args), p.T("food.held_source_local")}
	if h.Source != "" && !h.LocalChoice {
		a.Lines[1] = p.T("food.held_source", args)
	}
	return a
}

// working says how the ration comes about.
func (k *foodPage) working() ui.CarePart {
	p, x, today := k.p, k.sheet, k.sheet.Today
	part := ui.CarePart{ID: "working", Title: p.T("food.working")}
	fact := func(key, value string) {
		part.Facts = append(part.Facts, ui.Fact{Label: p.T("food." + key), Value: value})
	}
	fact("alive", p.Count(today.Alive))
	fact("weight", k.weightText())
	if today.Temperature.OK {
		key := "food.measured"
		if today.Estimated {
			key = "food.estimated"
		}
		fact("temperature", p.T(key, logbook.Args{"T": today.Temperature.V}))
	}
	// nobody feeds by it
	if today.Percent.OK && x.State != report.FeedNotYet && x.State != report.FeedNever && x.State != report.FeedOver {
		fact("percent", p.T("food.percent_value", logbook.Args{"Percent": p.Num(today.Percent.V, 1)}))
		if x.State == report.FeedNow {
			fact("sum", p.T("food.sum_value", logbook.Args{"Fish": today.Alive, "Weight": today.Weight,
				"Percent": p.Num(today.Percent.V, 1), "Ration": k.grams(today.Ration.V)}))
		}
	}
	part.Sources = []string{p.T("food.source_table", logbook.Args{"Source": x.Table.Source,
		"Known": p.T("care.known." + words.KnownBy(x.Table.How)), "Spread": p.Num(x.Table.Spread, 1)})}
	if key := "food.source_growth." + x.Weight.Model; x.Weight.Model != "" {
		part.Sources = append(part.Sources, p.T(key))
	}
	if x.Particle.Source != "" {
		part.Sources = append(part.Sources,
			p.T("care.source_known", logbook.Args{"Source": p.T("food.source_particle") + " " + x.Particle.Source,
				"Known": p.T("care.known." + words.KnownBy(x.Particle.How))}))
	}
	return part
}

// weightText writes the mean weight of today and what it rests on.
func (k *foodPage) weightText() string {
	p, b := k.p, k.sheet.Weight
	grown := units.Grams(1)
	if b.Mean > 0 {
		grown = k.sheet.Today.Weight / b.Mean
	}
	args := logbook.Args{"Weight": k.sheet.Today.Weight, "Low": b.Low * grown, "High": b.High * grown,
		"On": p.DayMonth(b.On), "Base": b.Mean}
	switch {
	case b.Assumed:
		return p.T("food.weight_assumed", args)
	case b.Model == "":
		return p.T("food.weight_today", args)
	}
	return p.T("food.weight_grown", args)
}

// log is the food of the last days beside the ration.
func (k *foodPage) log() ui.CarePart {
	p, x := k.p, k.sheet
	part := ui.CarePart{ID: "log", Title: p.T("food.log")}
	if len(x.Days) == 0 {
		return part
	}
	t := &ui.DataTable{Caption: p.T("food.log")}
	for _, c := range []string{"on", "ration", "fed", "difference", "remark"} {
		t.Columns = append(t.Columns, ui.DataColumn{Label: p.T("food.col." + c), Number: c != "on" && c != "remark"})
	}
	opt := func(g units.Optional[units.Grams]) string {
		if !g.OK {
			return "–"
		}
		return k.grams(g.V)
	}
	given, known := units.Grams(0), 0
	for i := len(x.Days) - 1; i >= 0; i-- {
		d := x.Days[i]
		diff, remark := "–", ""
		if v, ok := d.Difference().Get(); ok {
			diff = k.p.Num(float64(v), 1) + "\u00a0g"
			if units.Round(float64(v), 1) > 0 {
				diff = "+" + diff
			}
		}
		if d.Held != "" {
			remark = p.T("food.remark_" + string(d.Held))
		}
		if d.Fed.OK {
			given += d.Fed.V
			known++
		}
		t.Rows = append(t.Rows, []string{p.DateWeekday(d.On), opt(d.Ration), opt(d.Fed), diff, remark})
	}
	part.Table = t
	part.Lines = []string{p.T("food.log_sum", logbook.Args{"Given": k.grams(given), "Count": known,
		"Days": len(x.Days)})}
	part.Bars = k.bars()
	return part
}

func (k *foodPage) bars() *ui.FoodBars {
	p, days := k.p, k.sheet.Days
	b := &ui.FoodBars{Label: p.T("food.bars"), From: p.DayMonth(days[0].On), To: p.DayMonth(days[len(days)-1].On),
		Ration: p.T("food.col.ration"), Of: p.T("food.col.fed")}
	for _, d := range days {
		bar := ui.FoodBar{Ration: -1, Given: -1, Held: d.Held != ""}
		if d.Ration.OK {
			bar.Ration = float64(d.Ration.V)
		}
		if d.Fed.OK {
			bar.Given = float64(d.Fed.V)
		}
		b.Max = max(b.Max, bar.Ration, bar.Given)
		b.Days = append(b.Days, bar)
	}
	b.Top = p.T("food.bars_top", logbook.Args{"Most": k.grams(units.Grams(b.Max))})
	return b
}

// samples lists the fish weighed, and leads staff to the form.
func (k *foodPage) samples() ui.CarePart {
	p := k.p
	part := ui.CarePart{ID: "samples", Title: p.T("food.samples"), Lines: []string{p.T("food.samples_why")}}
	t := &ui.DataTable{Caption: p.T("food.samples")}
	for _, c := range []string{"on", "fish", "mean", "length", "k", "growth"} {
		t.Columns = append(t.Columns, ui.DataColumn{Label: p.T("food.col." + c), Number: c == "fish" || c == "length" ||
			c == "k"})
	}
	lines := report.SamplesOf(k.Season, k.Today)
	for i := len(lines) - 1; i >= 0; i-- {
		x := lines[i]
		length, factor, growth := "–", "–", "–"
		if x.Length.OK {
			length = p.Value(x.Length.V)
		}
		if x.Condition.OK {
			factor = p.Num(x.Condition.V, 2)
		}
		if x.Growth.OK {
			growth = words.SampleGrowth(p, x)
		}
		t.Rows = append(t.Rows, []string{p.DateWeekday(x.Sample.On), p.Count(x.Sample.Count),
			p.T("sample.mean_range", logbook.Args{"Mean": x.Mean, "Low": x.Low, "High": x.High}), length, factor,
			growth})
		if k.staff {
			part.Links = append(part.Links, ui.CareLink{Href: ui.SamplePath(x.Sample.ID),
				Label: p.T("food.open_sample", logbook.Args{"On": p.DayMonth(x.Sample.On)})})
		}
	}
	if len(t.Rows) > 0 {
		part.Table = t
		part.Sources = []string{p.T("food.samples_doubt", logbook.Args{"Low": p.Num(biology.UsualConditionLow, 2),
			"High": p.Num(biology.UsualConditionHigh, 2)})}
	}
	if k.staff && k.sheet.State != report.FeedOver {
		part.Links = append([]ui.CareLink{{Href: ui.SeasonPath(k.Season.ID, "/samples/new"),
			Label: p.T("sample.title")}}, part.Links...)
	}
	return part
}

// practice is how to feed, for those who do it.
func (k *foodPage) practice() ui.CarePart {
	p := k.p
	return ui.CarePart{ID: "practice", Title: p.T("food.practice"), Steps: []string{p.T("food.how1"), p.T("food.how2"),
		p.T("food.how3"), p.T("food.how4")},
		Cautions: []string{p.T("food.caution_rot"), p.T("food.caution_hands"), p.T("food.caution_permit")},
		Sources:  []string{p.T("food.source_practice")}}
}
