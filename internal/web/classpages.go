package web

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/classwork"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/web/view"
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
func (s *Server) classRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/class", s.page(s.classHub))
	r.Get("/seasons/{seasonID}/class/stage", s.page(s.classStage))
	r.Get("/seasons/{seasonID}/class/units", s.page(s.classUnits))
	r.Get("/seasons/{seasonID}/class/tanks", s.page(s.classTanks))
	r.Get("/seasons/{seasonID}/class/questions", s.page(s.classQuestions))
	r.Get("/seasons/{seasonID}/class/worksheet", s.page(s.classSheet))
	r.Get("/sites/{siteID}/wall", s.page(s.wallShow))
}

// classWays are the parts of the hub, in the order of its cards and links.
var classWays = []struct{ drawing, path string }{
	{"stage", classStagePath}, {"units", classUnitsPath}, {"compare", classComparePath}, {"question", classQuestionPath},
	{"survival", pageSurvival}, {"guess", pageGuess},
}

// classPage starts a page for a class about a tank.
func (s *Server) classPage(r *http.Request, season *logbook.Season, titleKey, here string) (view.Page, view.ClassTop) {
	v := visitOf(r)
	p := s.newPage(r, titleKey, "board")
	p.P = s.inSite(v, season.Site)
	p.Title = p.T(titleKey, logbook.Args{"Tank": season.Tank.Name})
	p.Styles = []string{"pieces.css", "check.css", "forecast.css", "survival.css", "class.css"}
	href := "/seasons/" + string(season.ID)
	top := view.ClassTop{Site: season.Site.Name, Tank: season.Tank.Name}
	add := func(path, key string) {
		top.Links = append(top.Links, view.ClassLink{Href: href + path, Text: p.T(key), Here: path == here})
	}
	add(classHubPath, "class.link.hub")
	for _, w := range classWays[:4] {
		add(w.path, "class.link."+w.drawing)
	}
	top.Links = append(top.Links, view.ClassLink{Href: href, Text: p.T("class.link.tank")})
	return p, top
}

// classAssessed loads and assesses the season of the address.
func (s *Server) classAssessed(r *http.Request) (assessed, error) {
	season, err := s.seasonOf(r)
	if err != nil {
		return assessed{}, err
	}
	return s.assess(r.Context(), season, visitOf(r).now)
}

// classHub is where a class begins.
func (s *Server) classHub(w http.ResponseWriter, r *http.Request) error {
	a, err := s.classAssessed(r)
	if err != nil {
		return err
	}
	page, top := s.classPage(r, a.Season, "class.title", classHubPath)
	p := page.P
	m := view.ClassHub{Page: page, Top: top}
	m.Stage, m.StageName, m.StageText = classStageOf(p, a)
	m.Figures = classFigures(p, a)
	if a.Season.StartedOn().IsZero() || a.Today.Before(a.Season.StartedOn()) {
		m.None = p.T("class.none")
		return s.render(w, r, http.StatusOK, view.ClassHubPage(m))
	}
	href := "/seasons/" + string(a.Season.ID)
	for _, way := range classWays {
		m.Ways = append(m.Ways, view.ClassWay{Href: href + way.path, Drawing: way.drawing,
			Name: p.T("class.way." + way.drawing), Text: p.T("class.way." + way.drawing + ".text")})
	}
	m.Ways = append(m.Ways, view.ClassWay{Href: "/sites/" + string(a.Season.Site.ID) + "/wall", Drawing: "wall",
		Name: p.T("class.way.wall"), Text: p.T("class.way.wall.text")})
	if v, ok := report.SurvivalOf(a.Season, a.Today); ok {
		h := hundredOf(p, v)
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
	return s.render(w, r, http.StatusOK, view.ClassHubPage(m))
}

// classStageOf is the stage that is believed in, with its name and sentence.
func classStageOf(p *i18n.Printer, a assessed) (logbook.Stage, string, string) {
	stage := a.Assessment.Stage.Stage
	if stage == "" || a.Season.StartedOn().IsZero() {
		return "", "", ""
	}
	return stage, stageWords(p, a.Assessment.Stage), p.T("stage_card." + string(stage))
}

// classFigures are the large figures of a tank: water, thermal units, days and
// what comes next. What is not known is left out.
func classFigures(p *i18n.Printer, a assessed) []view.ClassFigure {
	var out []view.ClassFigure
	add := func(key, value, more string) {
		out = append(out, view.ClassFigure{Label: p.T("class.figure." + key), Value: value, More: more})
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
		add("units", p.Num(view.ClassUnitsOf(p, classDay(f).ThermalUnits), 0), more)
	}
	if on := a.Season.StartedOn(); !on.IsZero() && !a.Today.Before(on) {
		end := a.Today
		if c := a.Season.ClosedOn; !c.IsZero() && c.Before(end) {
			end = c
		}
		add("days", p.Count(end.Sub(on)), p.T("class.figure.days_more", logbook.Args{"On": p.DayMonth(on)}))
	}
	if n := a.Assessment.Next; n.Event != "" && !n.P50.IsZero() {
		add("next", view.EventName(p, n.Event), p.T("class.figure.next_more", logbook.Args{"When": view.DateSpan(p, n.P10, n.P90)}))
	}
	return out
}
