package class

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/assess"
	"reddside/internal/classwork"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// Pages of a class about its tank, by the end of their address.
const (
	classHubPath      = "/class"
	classStagePath    = "/class/stage"
	classUnitsPath    = "/class/units"
	classComparePath  = "/class/tanks"
	classQuestionPath = "/class/questions"
	classSheetPath    = "/class/worksheet"
)

// classRoutes are the pages for a class and the wall display of a school, for
// everyone of the school.
func (s *Service) classRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/class", s.Page(s.classHub))
	r.Get("/seasons/{seasonID}/class/stage", s.Page(s.classStage))
	r.Get("/seasons/{seasonID}/class/units", s.Page(s.classUnits))
	r.Get("/seasons/{seasonID}/class/tanks", s.Page(s.classTanks))
	r.Get("/seasons/{seasonID}/class/questions", s.Page(s.classQuestions))
	r.Get("/seasons/{seasonID}/class/worksheet", s.Page(s.classSheet))
	r.Get("/seasons/{seasonID}/families", s.Page(s.familiesShow))
	r.Get("/sites/{siteID}/wall", s.Page(s.wallShow))
}

// classWays are the parts of the hub, in the order of its cards and links.
var classWays = []struct{ drawing, path string }{
	{"stage", classStagePath}, {"units", classUnitsPath}, {"compare", classComparePath},
	{"question", classQuestionPath},
	{"survival", ui.PageSurvival}, {"guess", ui.PageGuess},
}

// classPage starts a page for a class about a tank.
func (s *Service) classPage(r *http.Request, season *logbook.Season, titleKey, here string) (ui.Page, ClassTop) {
	v := req.Of(r)
	p := s.NewPage(r, titleKey, "board")
	p.P = s.InSite(v, season.Site)
	p.Title = p.T(titleKey, logbook.Args{"Tank": season.Tank.Name})
	p.Styles = []string{"pieces.css", "check.css", "forecast.css", "survival.css", "class.css"}
	href := ui.SeasonPath(season.ID)
	top := ClassTop{Site: season.Site.Name, Tank: season.Tank.Name}
	add := func(path, key string) {
		top.Links = append(top.Links, ClassLink{Href: href + path, Text: p.T(key), Here: path == here})
	}
	add(classHubPath, "class.link.hub")
	for _, w := range classWays[:4] {
		add(w.path, "class.link."+w.drawing)
	}
	top.Links = append(top.Links, ClassLink{Href: href, Text: p.T("class.link.tank")})
	return p, top
}

// classAssessed loads and assesses the season of the address.
func (s *Service) classAssessed(r *http.Request) (assess.Result, error) {
	season, err := s.SeasonOf(r)
	if err != nil {
		return assess.Result{}, err
	}
	return s.Assess.Assess(r.Context(), season, req.Of(r).Now)
}

// classHub is where a class begins.
func (s *Service) classHub(w http.ResponseWriter, r *http.Request) error {
	a, err := s.classAssessed(r)
	if err != nil {
		return err
	}
	page, top := s.classPage(r, a.Season, "class.title", classHubPath)
	p := page.P
	m := ClassHub{Page: page, Top: top}
	m.Stage, m.StageName, m.StageText = classStageOf(p, a)
	m.Figures = classFiguresView(p, a)
	if a.Season.StartedOn().IsZero() || a.Today.Before(a.Season.StartedOn()) {
		m.None = p.T("class.none")
		return s.Render(w, r, http.StatusOK, ClassHubPage(m))
	}
	href := ui.SeasonPath(a.Season.ID)
	for _, way := range classWays {
		m.Ways = append(m.Ways, ClassWay{Href: href + way.path, Drawing: way.drawing,
			Name: p.T("class.way." + way.drawing), Text: p.T("class.way." + way.drawing + ".text")})
	}
	m.Ways = append(m.Ways, ClassWay{Href: href + "/families", Drawing: "families",
		Name: p.T("class.way.families"), Text: p.T("class.way.families.text")})
	m.Ways = append(m.Ways, ClassWay{Href: ui.SitePath(a.Season.Site.ID, "/wall"), Drawing: "wall",
		Name: p.T("class.way.wall"), Text: p.T("class.way.wall.text")})
	if v, ok := report.SurvivalOf(a.Season, a.Today); ok {
		h := words.HundredOf(p, v)
		m.Hundred = &h
	}
	facts, err := s.classFacts(r, a, p.Unit())
	if err != nil {
		return err
	}
	if q, ok := classwork.Daily(facts); ok {
		shown := classQuestionView(p, a.Season.Tank.Name, q)
		m.Question, m.MoreHref = &shown, href+classQuestionPath
	}
	return s.Render(w, r, http.StatusOK, ClassHubPage(m))
}

// classStageOf is the stage that is believed in, with its name and sentence.
func classStageOf(p *i18n.Printer, a assess.Result) (logbook.Stage, string, string) {
	stage := a.Assessment.Stage.Stage
	if stage == "" || a.Season.StartedOn().IsZero() {
		return "", "", ""
	}
	return stage, words.StageWords(p, a.Assessment.Stage), p.T("stage_card." + string(stage))
}

// classFiguresView are the large figures of a tank: water, thermal units, days and
// what comes next. What is not known is left out.
func classFiguresView(p *i18n.Printer, a assess.Result) []ClassFigure {
	var out []ClassFigure
	add := func(key, value, more string) {
		out = append(out, ClassFigure{Label: p.T("class.figure." + key), Value: value, More: more})
	}
	if t := a.Assessment.Temperature; !t.On.IsZero() {
		more := p.T("class.figure.water_on", logbook.Args{"On": p.DayMonth(t.On)})
		if t.On == a.Today {
			more = p.T("class.figure.water_today")
		}
		add("water", p.Temp(t.Value), more)
	}
	if f := &a.Forecast; f.Ok() {
		more := p.T("class.figure.units_more")
		if !f.ThermalUnitsKnown {
			more = p.T("class.figure.units_since")
		}
		add("units", p.Num(ClassUnitsOf(p, classDay(f).ThermalUnits), 0), more)
	}
	if on := a.Season.StartedOn(); !on.IsZero() && !a.Today.Before(on) {
		end := a.Today
		if c := a.Season.ClosedOn; !c.IsZero() && c.Before(end) {
			end = c
		}
		add("days", p.Count(end.Sub(on)), p.T("class.figure.days_more", logbook.Args{"On": p.DayMonth(on)}))
	}
	if n := a.Assessment.Next; n.Event != "" && !n.P50.IsZero() {
		add("next", ui.EventName(p, n.Event),
			p.T("class.figure.next_more", logbook.Args{"When": ui.DateSpan(p, n.P10, n.P90)}))
	}
	return out
}
