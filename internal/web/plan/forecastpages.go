package plan

import (
	"net/http"
	"slices"

	"github.com/go-chi/chi/v5"

	"reddside/internal/assess"
	"reddside/internal/entries"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// forecastRoutes are the forecast of a season, how it was worked out, and the
// guesses of a class: for everyone of the school.
func (s *Service) forecastRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/forecast", s.Page(s.forecastShow))
	r.Get("/seasons/{seasonID}/forecast/how", s.Page(s.forecastHow))
	r.Get("/seasons/{seasonID}/guess", s.Page(s.guessShow))
	r.Post("/seasons/{seasonID}/guess", s.Page(s.guessCreate))
	r.Get("/guesses/{guessID}/correct", s.Page(s.guessEdit))
	r.Post("/guesses/{guessID}/correct", s.Page(s.guessCorrect))
}

// planRoutes are for staff: the setpoint planner, and confirming an entry that a
// forecast asks about.
func (s *Service) planRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/plan", s.Page(s.planShow))
	r.Post("/seasons/{seasonID}/plan", s.Page(s.planUse))
	r.Post("/seasons/{seasonID}/plan/end", s.Page(s.planEnd))
	r.Post("/seasons/{seasonID}/forecast/confirm", s.Page(s.forecastConfirm))
}

// forecastShow is the forecast of a season with its doubt and what it rests on.
func (s *Service) forecastShow(w http.ResponseWriter, r *http.Request) error {
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	a, err := s.Assess.Assess(r.Context(), season, req.Of(r).Now)
	if err != nil {
		return err
	}
	page, top := s.SeasonPage(r, season, "forecast_page.title", ui.PageForecast)
	m := ForecastPage{Page: page, Top: top, Confirm: top.TankHref + "/forecast/confirm"}
	f, p := &a.Forecast, page.P
	m.Questions = s.forecastQuestions(r, p, a)
	if !f.Ok() {
		m.None = p.T(f.Reason, f.Args)
		return s.Render(w, r, http.StatusOK, ForecastPageView(m))
	}
	m.Now = nowWords(p, f)
	m.Ruler = words.RulerOf(p, a)
	for _, e := range forecast.Events() {
		if w := f.Window(e); !w.BeforeStart { // nothing to say but that
			m.Events = append(m.Events, eventForecastView(p, f, w))
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
		m.Dues = append(m.Dues, dueLine(p, s.Cat, d))
	}
	return s.Render(w, r, http.StatusOK, ForecastPageView(m))
}

// confirmMarks are what a person may confirm of a check that a forecast asks
// about.
var confirmMarks = []string{"hatched", "stage", forecast.ConfirmLogger}

// forecastQuestions shows the questions of a forecast with the ways to answer.
func (s *Service) forecastQuestions(r *http.Request, p *i18n.Printer, a assess.Result) []ForecastQuestion {
	var out []ForecastQuestion
	actor := req.Of(r).Actor
	for _, q := range a.Forecast.Questions {
		x := ForecastQuestion{Text: p.T(q.Key, q.Args)}
		if c, mark := questioned(a.Season, q); c != nil {
			if entries.MayCorrect(actor, c, a.Today) {
				x.Correct, x.CorrectLabel = ui.CheckPath(c.ID, "/correct"),
					p.T("forecast_page.correct", logbook.Args{"On": c.On})
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
func (s *Service) forecastConfirm(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	mark := f.Text("mark")
	if !slices.Contains(confirmMarks, mark) {
		return logbook.Refuse([]logbook.Problem{{Field: "mark", Key: "choice.unknown"}})
	}
	c, err := s.DB.Check(r.Context(), logbook.ID(f.Text("check")))
	if err != nil {
		return err
	}
	if c.SeasonID != season.ID {
		return logbook.Missing("check")
	}
	reason := "other: " + v.P.T("forecast_page.confirm_reason")
	if err := s.Entries.StandBy(r.Context(), req.Sent(r, season, f), c, mark, f.Revision(), reason); err != nil {
		return err
	}
	s.SetNotice(r, v.P.T("forecast_page.confirmed"))
	http.Redirect(w, r, ui.SeasonPath(season.ID, ui.PageForecast), http.StatusSeeOther)
	return nil
}
