package tank

import (
	"reddside/internal/assess"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/web/chart"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// photoDays is how long a photograph is that of the week on the page of its tank.
const photoDays = 7

// tankPage is the page of an assessed season, without its charts.
func tankPage(page ui.Page, a assess.Result, photos []logbook.Photo) ui.TankPage {
	s, p := a.Season, page.P
	as := &a.Assessment
	t := ui.TankPage{Page: page, SeasonID: s.ID, Site: s.Site.Name, Tank: s.Tank.Name, Status: as.Status,
		Staff: page.Role != logbook.Class, CanCheck: as.Active,
		Subtitle: p.T("tank.subtitle", logbook.Args{"Species": s.Lot.Species, "Lot": s.Lot.Code, "Season": s.Label}),
		Last:     lastCheck(p, as), Facts: tankFacts(p, a), Log: tankLog(p, s, photos, page.Role != logbook.Class)}
	t.Ruler = ui.NewRuler(p, assess.PlaceRuler(assess.RulerSeason{FertilisedOn: s.Lot.FertilisedOn,
		ReleaseFrom: s.ReleaseFrom, ReleaseBy: s.ReleaseBy}, &a.Forecast))
	t.Forecast = forecastWordsView(p, &a.Forecast)
	if n := len(photos); n > 0 && a.Today.Sub(photos[n-1].On) < photoDays {
		t.Photo = &words.PhotoViews(p, photos[n-1:])[0]
	}
	t.Forecast.Lines = append(comingWords(p, a), t.Forecast.Lines...)
	switch {
	case !s.ClosedOn.IsZero() && !a.Today.Before(s.ClosedOn):
		t.Ended = p.T("tank.ended", logbook.Args{"On": s.ClosedOn})
	case s.StartedOn().IsZero() || a.Today.Before(s.StartedOn()):
		t.Waiting = p.T("tank.waiting")
	}
	if b := as.Stage; b.Stage != "" {
		t.Stage = p.T("tank.stage", logbook.Args{"Stage": b.Stage, "Basis": b.From})
	}
	t.Quiet = p.T("tank.quiet")
	if as.Status == rules.StatusNoCheck {
		t.Quiet = p.T("tank.quiet_no_check")
	}
	return t
}

// lastCheck says how old the last look at the tank is.
func lastCheck(p *i18n.Printer, a *rules.Assessment) string {
	if a.LastCheck.On.IsZero() {
		return p.T("tank.no_check_yet")
	}
	args := logbook.Args{"On": p.DateWeekday(a.LastCheck.On), "Count": a.LastCheck.Age}
	switch a.LastCheck.Age {
	case 0:
		return p.T("tank.checked_today", args)
	case 1:
		return p.T("tank.checked_yesterday", args)
	}
	return p.T("tank.checked_before", args)
}

// comingWords says what comes next for fry, and that nothing does when all have gone.
func comingWords(p *i18n.Printer, a assess.Result) []string {
	up := &a.Forecast.SwimUp
	swims := !up.Observed.IsZero() || up.Ok() && up.P90.Before(a.Today)
	switch {
	case a.Season.Gone(a.Today):
		return []string{p.T("tank.gone")}
	case !swims && a.Season.SaidStage(a.Today).Order() < logbook.Fry.Order():
		return nil
	}
	var out []string
	for _, d := range forecast.Husbandry(a.Season, &a.Forecast) {
		if d.Kind == forecast.DueFirstFood || d.Kind == forecast.DueRelease {
			out = append(out, p.T("tank.coming", logbook.Args{"What": p.T(d.Kind.MessageKey()), "From": d.From, "By": d.By}))
		}
	}
	return out
}

// forecastWordsView writes a forecast in sentences: middle date, the range of eight
// cases in ten, what to know about it, and what to look at.
func forecastWordsView(p *i18n.Printer, r *forecast.Result) ui.ForecastWords {
	if !r.Ok() {
		return ui.ForecastWords{None: p.T(r.Reason, r.Args)}
	}
	var f ui.ForecastWords
	for _, e := range forecast.Events() {
		f.Lines = append(f.Lines, words.EventWords(p, r, r.Window(e)))
	}
	units := p.T("tank.now", logbook.Args{"Index": p.Percent(r.Index), "Units": r.ThermalUnits, "On": r.Today})
	if !r.ThermalUnitsKnown {
		units = p.T("tank.now_index", logbook.Args{"Index": p.Percent(r.Index), "On": r.Today})
	}
	f.Lines = append(f.Lines, units)
	for _, n := range r.Notes {
		f.Notes = append(f.Notes, p.T(n.Key, n.Args))
	}
	for _, q := range r.Questions {
		f.Questions = append(f.Questions, p.T(q.Key, q.Args))
	}
	return f
}

// tankFacts is the list of facts: the tank, its eggs and the account of them.
func tankFacts(p *i18n.Printer, a assess.Result) []ui.Fact {
	s := a.Season
	var out []ui.Fact
	add := func(key, value string) {
		if value != "" {
			out = append(out, ui.Fact{Label: p.T(key), Value: value})
		}
	}
	if t := a.Assessment.Temperature; !t.On.IsZero() {
		add("tank.fact.temperature", p.T("tank.fact.temperature_value",
			logbook.Args{"Value": t.Value, "On": p.DateShort(t.On)}))
	}
	if sp := s.SetpointOn(a.Today); sp.OK {
		add("tank.fact.setpoint", p.Temp(sp.V))
	}
	if s.Tank.Volume > 0 {
		add("tank.fact.tank", p.T("tank.fact.tank_value", logbook.Args{"Volume": s.Tank.Volume, "Wall": s.Tank.Wall}))
	}
	add("tank.fact.supplier", s.Lot.Supplier)
	add("tank.fact.stock", s.Lot.Stock)
	if !s.Lot.FertilisedOn.IsZero() {
		add("tank.fact.fertilised", p.Date(s.Lot.FertilisedOn))
	}
	if on := s.StartedOn(); !on.IsZero() {
		add("tank.fact.delivered_on", p.Date(on))
	}
	t := a.Assessment.Totals
	count := func(key string, n int, always bool) {
		if always || n != 0 {
			add(key, p.Count(n))
		}
	}
	if !s.StartedOn().IsZero() {
		count("tank.fact.delivered", t.Delivered, true)
		count("tank.fact.moved_in", t.MovedIn, false)
		count("tank.fact.alive", t.Alive, true)
		count("tank.fact.dead", t.Dead, true)
		count("tank.fact.moved_out", t.MovedOut, false)
		count("tank.fact.sampled", t.Sampled, false)
		count("tank.fact.released", t.Released, false)
		count("tank.fact.unexplained", t.Unexplained, true)
		if !t.CountedOn.IsZero() {
			add("tank.fact.counted", p.Date(t.CountedOn))
		}
	}
	return out
}

// figureViews hands the charts to the view.
func figureViews(figures []chart.Figure) []ui.Figure {
	var out []ui.Figure
	for _, f := range figures {
		v := ui.Figure{Name: f.Name, Title: f.Title, Finding: f.Finding, Table: ui.DataTable{Caption: f.Table.Caption}}
		for _, c := range f.Charts {
			v.Charts = append(v.Charts, ui.Chart{ID: c.ID, Title: c.Title, Describe: c.Describe, Unit: c.Unit,
				Decimals: c.Decimals, Low: c.Low, Option: c.Option})
		}
		for _, k := range f.Keys {
			v.Keys = append(v.Keys, ui.ChartKey{Shape: k.Shape, Text: k.Text})
		}
		for _, c := range f.Table.Columns {
			v.Table.Columns = append(v.Table.Columns, ui.DataColumn{Label: c.Label, Number: c.Number})
		}
		for _, row := range f.Table.Rows {
			cells := make([]string, len(row))
			for i, c := range row {
				cells[i] = c.Text
				if c.Text == "" && f.Table.Columns[i].Number {
					cells[i] = "–" // not measured is not 0
				}
			}
			v.Table.Rows = append(v.Table.Rows, cells)
		}
		out = append(out, v)
	}
	return out
}
