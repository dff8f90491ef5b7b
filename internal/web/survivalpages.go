package web

import (
	"math"
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/web/chart"
	"reddside/internal/web/view"
)

// survivalRoutes say how many of a tank are alive, for everyone of the school.
func (s *Server) survivalRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/survival", s.page(s.survivalShow))
}

func (s *Server) survivalShow(w http.ResponseWriter, r *http.Request) error {
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	today := s.today(season.Site, visitOf(r).now)
	page, top := s.seasonPage(r, season, "survival.title", pageSurvival)
	page.Styles = append(page.Styles, "tank.css", "survival.css")
	page.Scripts = []string{"vendor/echarts/echarts.common.min.js", "charts.js"}
	m := view.SurvivalPage{Page: page, Top: top, Staff: page.Role != logbook.Class}
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
	return s.render(w, r, http.StatusOK, view.SurvivalPageView(m))
}

// fillSurvival writes the survival for the page: to a class in plain words only,
// to staff with the method.
func fillSurvival(m *view.SurvivalPage, v report.Survival, f chart.Figure) {
	p := m.P
	m.Hundred = hundredOf(p, v)
	m.Account, m.Known = survivalAccount(p, v), survivalKnown(p, v)
	if all := figureViews([]chart.Figure{f}); len(f.Charts) > 0 {
		m.Figure = all[0]
	}
	m.Stages, m.StageIs = survivalStages(p, v)
	if m.Staff {
		m.Method = survivalMethod(p, v)
	}
}

// hundredOf shows a survival as a hundred dots with what they say.
func hundredOf(p *i18n.Printer, v report.Survival) view.Hundred {
	alive := v.Hundred.Alive
	return view.Hundred{Words: survivalWords(p, v), Dots: view.HundredDots(alive),
		Alt:  p.T("survival.dots", logbook.Args{"Alive": alive, "Dead": 100 - alive}),
		Keys: []view.ChartKey{{Shape: "alive", Text: p.T("survival.key.alive")}, {Shape: "dead", Text: p.T("survival.key.dead")}}}
}

// inHundred writes a share as a number in a hundred, to one decimal when the
// whole numbers would say nothing.
func inHundred(p *i18n.Printer, share float64) string { return p.Num(100*share, 1) }

func survivalWords(p *i18n.Printer, v report.Survival) []string {
	args := logbook.Args{"Alive": v.Left, "Of": v.Start, "Hundred": v.Hundred.Alive, "Lower": v.Hundred.Lower, "Upper": v.Hundred.Upper}
	key := "survival.words.count"
	if v.Season.Method == report.ByKaplanMeier {
		key = "survival.words.removed"
	}
	out := []string{p.T(key, args)}
	if v.Dead == 0 && v.Unexplained == 0 {
		// About 3 in n, rounded up: the rule of three.
		return append(out, p.T("survival.words.zero", logbook.Args{"Of": v.Start, "Percent": p.Num(math.Ceil(math.Min(100, 300/float64(v.Start))), 0)}))
	}
	return append(out, p.T("survival.words.range", args))
}

func survivalAccount(p *i18n.Printer, v report.Survival) []view.Fact {
	var out []view.Fact
	add := func(key string, n int, always bool) {
		if always || n != 0 {
			out = append(out, view.Fact{Label: p.T(key), Value: p.Count(n)})
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
			"Lower": p.Num(math.Floor(100*v.Alive.Lower+1e-9), 0), "Upper": p.Num(math.Ceil(100*v.Alive.Upper-1e-9), 0)}))
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

func survivalStages(p *i18n.Printer, v report.Survival) (t view.DataTable, more []string) {
	t.Caption = p.T("survival.stage.caption")
	for i, c := range []string{"stage", "days", "of", "dead", "share", "range"} {
		t.Columns = append(t.Columns, view.DataColumn{Label: p.T("survival.stage." + c), Number: i >= 2})
	}
	more = []string{p.T("survival.stage.how")}
	for _, g := range v.Stages {
		name := p.T(g.Stage.MessageKey())
		if g.Stage == logbook.EyedEgg {
			name = p.T("survival.stage.egg")
		}
		t.Rows = append(t.Rows, []string{name, p.T("survival.stage.span", logbook.Args{"From": p.DateShort(g.From), "To": p.DateShort(g.To)}),
			p.Count(g.Of), p.Count(g.Of - g.Alive), inHundred(p, g.Estimate),
			p.T("survival.stage.between", logbook.Args{"Lower": inHundred(p, g.Lower), "Upper": inHundred(p, g.Upper)})})
		if g.Of == g.Alive {
			more = append(more, p.T("survival.stage.zero", logbook.Args{"Stage": name, "Of": g.Of, "Percent": inHundred(p, g.ZeroUpper)}))
		}
	}
	return t, more
}

func survivalMethod(p *i18n.Printer, v report.Survival) []string {
	level := p.Num(100*report.SurvivalLevel, 0)
	return []string{
		p.T("survival.method."+string(v.Season.Method), logbook.Args{"Level": level, "Phi": p.Num(report.SurvivalPhi, 0), "Of": v.Start,
			"Effective": p.Count(int(math.Round(float64(v.Start) / report.SurvivalPhi)))}),
		p.T("survival.method.exact", logbook.Args{"Alive": v.Season.Alive, "Of": v.Season.Of, "Level": level,
			"Lower": inHundred(p, v.Season.Exact.Lower), "Upper": inHundred(p, v.Season.Exact.Upper)}),
		p.T("survival.method.not"),
	}
}
