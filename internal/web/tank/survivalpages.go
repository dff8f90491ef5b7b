package tank

import (
	"math"
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/web/chart"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// survivalRoutes say how many of a tank are alive, for everyone of the school.
func (s *Service) survivalRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/survival", s.Page(s.survivalShow))
}

func (s *Service) survivalShow(w http.ResponseWriter, r *http.Request) error {
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	today := s.Assess.Today(season.Site, req.Of(r).Now)
	page, top := s.SeasonPage(r, season, "survival.title", ui.PageSurvival)
	page.Styles = append(page.Styles, "tank.css", "survival.css")
	page.Scripts = []string{"vendor/echarts/echarts.common.min.js", "charts.js"}
	m := SurvivalPage{Page: page, Top: top, Staff: page.Role != logbook.Class}
	v, ok := report.SurvivalOf(season, today)
	switch {
	case v.Start == 0:
		m.None = page.T("survival.none.delivery")
	case !ok:
		m.None = page.T("survival.none.account")
		m.Account = survivalAccount(page.P, v)
	default:
		f, err := chart.Survival(chart.Input{Season: season, Today: today, P: page.P}, v)
		if err != nil {
			return err
		}
		fillSurvival(&m, v, f)
	}
	return s.Render(w, r, http.StatusOK, SurvivalPageView(m))
}

// fillSurvival writes the survival for the page: to a class in plain words only,
// to staff with the method.
func fillSurvival(m *SurvivalPage, v report.Survival, f chart.Figure) {
	p := m.P
	m.Hundred = words.HundredOf(p, v)
	m.Account, m.Known = survivalAccount(p, v), survivalKnown(p, v)
	if all := figureViews([]chart.Figure{f}); len(f.Charts) > 0 {
		m.Figure = all[0]
	}
	m.Stages, m.StageIs = survivalStages(p, v)
	if m.Staff {
		m.Method = survivalMethod(p, v)
	}
}

func survivalAccount(p *i18n.Printer, v report.Survival) []ui.Fact {
	var out []ui.Fact
	add := func(key string, n int, always bool) {
		if always || n != 0 {
			out = append(out, ui.Fact{Label: p.T(key), Value: p.Count(n)})
		}
	}
	add("tank.fact.delivered", v.Delivered, true)
	add("tank.fact.moved_in", v.MovedIn, false)
	add("tank.fact.alive", v.Totals.Alive, true)
	add("tank.fact.dead", v.Dead, true)
	add("tank.fact.moved_out", v.MovedOut, false)
	add("tank.fact.sampled", v.Sampled, false)
	add("tank.fact.released", v.Released, false)
	add("tank.fact.unexplained", v.Unexplained, true)
	return out
}

func survivalKnown(p *i18n.Printer, v report.Survival) []string {
	var out []string
	switch {
	case v.Unexplained > 0:
		out = append(out, p.T("survival.known.missing", logbook.Args{"Count": v.Unexplained,
			"Lower": p.Num(math.Floor(100*v.Alive.Lower+1e-9), 0), "Upper": p.Num(math.Ceil(100*v.Alive.Upper-1e-9),
				0)}))
	case !v.CountedOn.IsZero() || v.Totals.Alive == 0:
		out = append(out, p.T("survival.known.all"))
	}
	switch {
	case !v.CountedOn.IsZero():
		out = append(out, p.T("survival.known.counted", logbook.Args{"On": v.CountedOn}))
	case v.Totals.Alive > 0:
		out = append(out, p.T("survival.known.log"))
	}
	if v.Estimated {
		out = append(out, p.T("survival.known.estimated"))
	}
	return out
}

func survivalStages(p *i18n.Printer, v report.Survival) (t ui.DataTable, more []string) {
	t.Caption = p.T("survival.stage.caption")
	for i, c := range []string{"stage", "days", "of", "dead", "share", "range"} {
		t.Columns = append(t.Columns, ui.DataColumn{Label: p.T("survival.stage." + c), Number: i >= 2})
	}
	more = []string{p.T("survival.stage.how")}
	for _, g := range v.Stages {
		name := p.T(g.Stage.MessageKey())
		if g.Stage == logbook.EyedEgg {
			name = p.T("survival.stage.egg")
		}
		t.Rows = append(t.Rows, []string{name,
			p.T("survival.stage.span", logbook.Args{"From": p.DateShort(g.From), "To": p.DateShort(g.To)}),
			p.Count(g.Of), p.Count(g.Of - g.Alive), words.InHundred(p, g.Estimate),
			p.T("survival.stage.between", logbook.Args{"Lower": words.InHundred(p, g.Lower),
				"Upper": words.InHundred(p, g.Upper)})})
		if g.Of == g.Alive {
			more = append(more, p.T("survival.stage.zero", logbook.Args{"Stage": name, "Of": g.Of,
				"Percent": words.InHundred(p, g.ZeroUpper)}))
		}
	}
	return t, more
}

func survivalMethod(p *i18n.Printer, v report.Survival) []string {
	level := p.Num(100*report.SurvivalLevel, 0)
	return []string{
		p.T("survival.method."+string(v.Season.Method),
			logbook.Args{"Level": level, "Phi": p.Num(report.SurvivalPhi, 0), "Of": v.Start,
				"Effective": p.Count(int(math.Round(float64(v.Start) / report.SurvivalPhi)))}),
		p.T("survival.method.exact", logbook.Args{"Alive": v.Season.Alive, "Of": v.Season.Of, "Level": level,
			"Lower": words.InHundred(p, v.Season.Exact.Lower), "Upper": words.InHundred(p, v.Season.Exact.Upper)}),
		p.T("survival.method.not"),
	}
}
