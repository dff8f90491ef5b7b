package web

import (
	"errors"
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

const routeGuess = "POST /seasons/{id}/guess"

func (s *Server) guessShow(w http.ResponseWriter, r *http.Request) error {
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	f := newForm()
	f.set("key", string(logbook.NewID()))
	return s.renderGuesses(w, r, http.StatusOK, season, f)
}

// guessCreate stores the guess of a group.
func (s *Server) guessCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	g := logbook.Guess{SeasonID: season.ID, Group: f.text("group"), On: f.date("on"), MadeOn: s.today(season.Site, v.now)}
	f.add(g.Validate(season))
	if closed, err := s.guessesClosed(r, season); err != nil {
		return err
	} else if closed != "" && len(f.problems) == 0 {
		f.fail("on", closed, nil)
	}
	if len(f.problems) > 0 {
		return s.renderGuesses(w, r, http.StatusUnprocessableEntity, season, f)
	}
	print, err := fingerprint(g)
	if err != nil {
		return err
	}
	once := store.Once{Key: formKey(f.text("key")), Route: routeGuess, Fingerprint: print}
	_, err = s.db.CreateGuess(r.Context(), v.actor, g, v.now, store.Write{Once: once})
	var e *logbook.Error
	switch {
	case isMismatch(err), errors.As(err, &e) && e.Key == "guess.exists":
		f.fail("group", "guess.exists", logbook.Args{"Group": g.Group})
		f.set("key", string(logbook.NewID()))
		return s.renderGuesses(w, r, http.StatusUnprocessableEntity, season, f)
	case err != nil:
		return err
	}
	s.setNotice(r, v.p.T("guess.saved", logbook.Args{"Group": g.Group, "On": g.On}))
	http.Redirect(w, r, "/seasons/"+string(season.ID)+pageGuess, http.StatusSeeOther)
	return nil
}

// guessesClosed is the key of why no guess can be made any more, or "".
func (s *Server) guessesClosed(r *http.Request, season *logbook.Season) (string, error) {
	a, err := s.assess(r.Context(), season, visitOf(r).now)
	if err != nil {
		return "", err
	}
	return guessClosed(a), nil
}

func guessClosed(a assessed) string {
	h := &a.Forecast.Hatch
	switch {
	case a.Season.StartedOn().IsZero():
		return "guess.no_eggs"
	case !a.Season.ClosedOn.IsZero() && !a.Today.Before(a.Season.ClosedOn):
		return "guess.season_over"
	case a.Forecast.Ok() && (!h.Observed.IsZero() || h.BeforeStart):
		return "guess.hatched"
	}
	return ""
}

// renderGuesses shows the guesses of a season and the form for one more.
func (s *Server) renderGuesses(w http.ResponseWriter, r *http.Request, status int, season *logbook.Season, f *form) error {
	a, err := s.assess(r.Context(), season, visitOf(r).now)
	if err != nil {
		return err
	}
	page, top := s.seasonPage(r, season, "guess.title", pageGuess)
	p := page.P
	m := view.GuessPage{Page: page, Top: top, Intro: p.T("guess.intro")}
	if closed := guessClosed(a); closed != "" {
		m.Closed = p.T(closed)
	}
	m.Problems = s.guessForm(p, &m.Form, f, "guess")
	m.Form.Page, m.Form.Action, m.Form.Submit = page, top.TankHref+pageGuess, p.T("guess.submit")
	m.Form.Hidden = []view.Option{{Value: "key", Label: f.text("key")}}
	m.Error = len(m.Problems) > 0
	var then map[civil.Date]forecast.Result
	if hatch := &a.Forecast.Hatch; a.Forecast.Ok() && !hatch.Observed.IsZero() && len(season.Guesses) > 0 {
		if then, err = s.forecastsOf(r, season); err != nil {
			return err
		}
		m.Strip = guessStrip(p, season, hatch, then)
		m.Result = guessResult(p, season, hatch)
	}
	for i := range season.Guesses {
		m.Rows = append(m.Rows, guessRow(p, &season.Guesses[i], &a, then, m.Closed == ""))
	}
	return s.render(w, r, status, view.GuessPageView(m))
}

// guessForm fills the fields that a new guess and a correction share.
func (s *Server) guessForm(p *i18n.Printer, to *view.FormPage, f *form, prefix string) view.Problems {
	b := formItems(s.cat, p, prefix+"_field")
	b.text("group", f.raw("group"))
	b.date("on", f.raw("on"), false)
	to.Items, to.Problems = b.list, b.problems(f.problems)
	return to.Problems
}

// guessOf loads the guess of the address with its season.
func (s *Server) guessOf(r *http.Request) (logbook.Guess, *logbook.Season, error) {
	g, err := s.db.Guess(r.Context(), logbook.ID(chi.URLParam(r, "guessID")))
	if err != nil {
		return g, nil, err
	}
	season, err := s.db.LoadSeason(r.Context(), g.SeasonID)
	if err != nil {
		return g, nil, err
	}
	if !visitOf(r).actor.MaySee(season.Site.ID) || g.Voided {
		return g, nil, logbook.Missing("guess")
	}
	return g, season, nil
}

func (s *Server) guessEdit(w http.ResponseWriter, r *http.Request) error {
	g, season, err := s.guessOf(r)
	if err != nil {
		return err
	}
	f := newForm()
	f.set("group", g.Group)
	f.set("on", g.On.String())
	f.set("revision", typedInt(g.Revision))
	return s.renderGuessEdit(w, r, http.StatusOK, &g, season, f)
}

func (s *Server) renderGuessEdit(w http.ResponseWriter, r *http.Request, status int, g *logbook.Guess, season *logbook.Season, f *form) error {
	page, _ := s.seasonPage(r, season, "guess.correct_title", pageGuess)
	m := view.FormPage{Page: page, Action: "/guesses/" + string(g.ID) + "/correct", Submit: page.T("guess.correct_submit"),
		Cancel: "/seasons/" + string(season.ID) + pageGuess, Hidden: []view.Option{{Value: "revision", Label: f.text("revision")}}}
	s.guessForm(page.P, &m, f, "guess")
	b := formItems(s.cat, page.P, "guess_field")
	b.pick("reason", f.raw("reason"), reasonOptions(page.P))
	b.optionalText("reason_text", f.raw("reason_text"))
	m.Items = append(m.Items, b.list...)
	m.Error = len(m.Problems) > 0
	return s.render(w, r, status, view.FormPageView(m))
}

// guessCorrect replaces what a guess says, until the hatch is seen.
func (s *Server) guessCorrect(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	have, season, err := s.guessOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	g := have
	g.Group, g.On = f.text("group"), f.date("on")
	if g.On != have.On {
		// Another day is another guess: it is compared with the forecast of today.
		g.MadeOn = s.today(season.Site, v.now)
	}
	f.add(g.Validate(season))
	reason, from := formReason(f), f.revision()
	if closed, err := s.guessesClosed(r, season); err != nil {
		return err
	} else if closed != "" && len(f.problems) == 0 {
		f.fail("on", closed, nil)
	}
	if len(f.problems) == 0 {
		_, err = s.db.CorrectGuess(r.Context(), v.actor, have.ID, from, g, reason, v.now)
		var e *logbook.Error
		if errors.As(err, &e) && e.Key == "guess.exists" {
			f.fail("group", "guess.exists", logbook.Args{"Group": g.Group})
		} else if err != nil {
			return err
		}
	}
	if len(f.problems) > 0 {
		return s.renderGuessEdit(w, r, http.StatusUnprocessableEntity, &have, season, f)
	}
	s.setNotice(r, v.p.T("guess.corrected"))
	http.Redirect(w, r, "/seasons/"+string(season.ID)+pageGuess, http.StatusSeeOther)
	return nil
}
