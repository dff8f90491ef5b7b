package web

import (
	"net/http"
	"slices"

	"github.com/go-chi/chi/v5"

	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/view"
)

// forecastRoutes are the forecast of a season, how it was worked out, and the
// guesses of a class: for everyone of the school.
func (s *Server) forecastRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/forecast", s.page(s.forecastShow))
	r.Get("/seasons/{seasonID}/forecast/how", s.page(s.forecastHow))
	r.Get("/seasons/{seasonID}/guess", s.page(s.guessShow))
	r.Post("/seasons/{seasonID}/guess", s.page(s.guessCreate))
	r.Get("/guesses/{guessID}/correct", s.page(s.guessEdit))
	r.Post("/guesses/{guessID}/correct", s.page(s.guessCorrect))
}

// planRoutes are for staff: the setpoint planner, and confirming an entry that a
// forecast asks about.
func (s *Server) planRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/plan", s.page(s.planShow))
	r.Post("/seasons/{seasonID}/plan", s.page(s.planUse))
	r.Post("/seasons/{seasonID}/plan/end", s.page(s.planEnd))
	r.Post("/seasons/{seasonID}/forecast/confirm", s.page(s.forecastConfirm))
}

// pages of a season that link to one another, by the end of their address.
const (
	pageForecast = "/forecast"
	pageHow      = "/forecast/how"
	pageGuess    = "/guess"
	pagePlan     = "/plan"
	pageSurvival = "/survival"
)

// seasonPage starts a page of a season, with links to its sisters.
func (s *Server) seasonPage(r *http.Request, season *logbook.Season, titleKey, here string) (view.Page, view.SeasonTop) {
	v := visitOf(r)
	p := s.newPage(r, titleKey, "board")
	p.P = s.reading(v, season.Site)
	p.Title = p.T(titleKey, logbook.Args{"Tank": season.Tank.Name})
	p.Styles = []string{"pieces.css", "forecast.css"}
	href := "/seasons/" + string(season.ID)
	top := view.SeasonTop{Site: season.Site.Name, Tank: season.Tank.Name, TankHref: href,
		Subtitle: p.T("tank.subtitle", logbook.Args{"Species": season.Lot.Species, "Lot": season.Lot.Code, "Season": season.Label})}
	for _, page := range []string{pageForecast, pageHow, pageGuess, pagePlan, pageSurvival} {
		if page == here || (page == pagePlan && v.actor.Role == logbook.Class) {
			continue
		}
		top.Links = append(top.Links, view.PageLink{Href: href + page, Text: p.T("season_link." + page[1:])})
	}
	return p, top
}

// forecastShow is the forecast of a season with its doubt and what it rests on.
func (s *Server) forecastShow(w http.ResponseWriter, r *http.Request) error {
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	a, err := s.assess(r.Context(), season, visitOf(r).now)
	if err != nil {
		return err
	}
	page, top := s.seasonPage(r, season, "forecast_page.title", pageForecast)
	m := view.ForecastPage{Page: page, Top: top, Confirm: top.TankHref + "/forecast/confirm"}
	f, p := &a.Forecast, page.P
	m.Questions = s.forecastQuestions(r, p, a)
	if !f.Ok() {
		m.None = p.T(f.Reason, f.Args)
		return s.render(w, r, http.StatusOK, view.ForecastPageView(m))
	}
	m.Now = nowWords(p, f)
	m.Ruler = rulerOf(p, a)
	for _, e := range forecast.Events() {
		if w := f.Window(e); !w.BeforeStart { // nothing to say but that
			m.Events = append(m.Events, eventForecast(p, f, w))
		}
	}
	if m.Learnt, err = s.learntWords(r, p, a); err != nil {
		return err
	}
	for _, n := range f.Notes {
		if text := p.T(n.Key, n.Args); !slices.Contains(m.Learnt, text) { // said above
			m.Notes = append(m.Notes, text)
		}
	}
	for _, d := range forecast.Husbandry(season, f) {
		m.Dues = append(m.Dues, dueLine(p, s.cat, d))
	}
	return s.render(w, r, http.StatusOK, view.ForecastPageView(m))
}

func rulerOf(p *i18n.Printer, a assessed) view.Ruler {
	s := a.Season
	return view.NewRuler(p, view.PlaceRuler(view.RulerSeason{FertilisedOn: s.Lot.FertilisedOn, ReleaseFrom: s.ReleaseFrom,
		ReleaseBy: s.ReleaseBy}, &a.Forecast))
}

// confirmMarks are what a person may confirm of a check that a forecast asks
// about.
var confirmMarks = []string{"hatched", "stage", forecast.ConfirmLogger}

// forecastQuestions shows the questions of a forecast with the ways to answer.
func (s *Server) forecastQuestions(r *http.Request, p *i18n.Printer, a assessed) []view.ForecastQuestion {
	var out []view.ForecastQuestion
	actor := visitOf(r).actor
	for _, q := range a.Forecast.Questions {
		x := view.ForecastQuestion{Text: p.T(q.Key, q.Args)}
		if c, mark := questioned(a.Season, q); c != nil {
			if mayCorrect(actor, c, a.Today) {
				x.Correct, x.CorrectLabel = "/checks/"+string(c.ID)+"/correct", p.T("forecast_page.correct", logbook.Args{"On": c.On})
			}
			if mark != "" && actor.Role != logbook.Class {
				x.Mark, x.CheckID, x.Revision = mark, string(c.ID), typedInt(c.Revision)
				x.ConfirmLabel = p.T("forecast_page.confirm." + mark)
			}
		}
		out = append(out, x)
	}
	return out
}

// questioned finds the check of this tank that a question is about, and what of
// it can be confirmed; nil when the question is about something else.
func questioned(season *logbook.Season, q forecast.Question) (*logbook.Check, string) {
	if tank, named := q.Args["Tank"]; named && tank != any(season.Tank.Name) {
		return nil, ""
	}
	for i := range season.Checks {
		c := &season.Checks[i]
		if c.On != q.On {
			continue
		}
		switch q.Key {
		case "forecast.question.check_and_logger":
			if c.Temperature.OK {
				return c, forecast.ConfirmLogger
			}
		case "forecast.question.before_delivery", "forecast.question.after_end":
			if c.Hatched != "" {
				return c, ""
			}
		default:
			if c.Hatched != "" {
				return c, "hatched"
			}
			if c.Stage != "" {
				return c, "stage"
			}
		}
	}
	return nil, ""
}

// forecastConfirm notes that a person looked at an entry and stands by it.
func (s *Server) forecastConfirm(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	mark := f.text("mark")
	if !slices.Contains(confirmMarks, mark) {
		return logbook.Refuse([]logbook.Problem{{Field: "mark", Key: "choice.unknown"}})
	}
	c, err := s.db.Check(r.Context(), logbook.ID(f.text("check")))
	if err != nil {
		return err
	}
	if c.SeasonID != season.ID {
		return logbook.Missing("check")
	}
	if !slices.Contains(c.Confirmed, mark) {
		c.Confirmed = append(slices.Clone(c.Confirmed), mark)
		slices.Sort(c.Confirmed)
		after, err := s.FlagsAfter(r.Context(), season, v.now)
		if err != nil {
			return err
		}
		reason := "other: " + v.p.T("forecast_page.confirm_reason")
		if _, err := s.db.CorrectCheck(r.Context(), v.actor, c.ID, f.revision(), c, reason, v.now, after); err != nil {
			return err
		}
	}
	s.setNotice(r, v.p.T("forecast_page.confirmed"))
	http.Redirect(w, r, "/seasons/"+string(season.ID)+pageForecast, http.StatusSeeOther)
	return nil
}
