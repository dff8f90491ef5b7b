package plan

import (
	"errors"
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/entries"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

const routeGuess = "POST /seasons/{id}/guess"

func (s *Service) guessShow(w http.ResponseWriter, r *http.Request) error {
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	f := form.NewForm()
	f.Set("key", string(logbook.NewID()))
	return s.renderGuesses(w, r, http.StatusOK, season, f)
}

// guessCreate stores the guess of a group.
func (s *Service) guessCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	g := logbook.Guess{SeasonID: season.ID, Group: f.Text("group"), On: f.Date("on"),
		MadeOn: s.Assess.Today(season.Site, v.Now)}
	f.Add(g.Validate(season))
	if closed, err := s.GuessesClosed(r, season); err != nil {
		return err
	} else if closed != "" && len(f.Problems) == 0 {
		f.Fail("on", closed, nil)
	}
	if len(f.Problems) > 0 {
		return s.renderGuesses(w, r, http.StatusUnprocessableEntity, season, f)
	}
	once, err := store.NewIdempotencyKey(form.FormKey(f.Text("key")), routeGuess, g)
	if err != nil {
		return err
	}
	_, err = s.DB.CreateGuess(r.Context(), v.Actor, g, v.Now, store.Write{Once: once})
	var e *logbook.Error
	switch {
	case entries.IsMismatch(err), errors.As(err, &e) && e.Key == "guess.exists":
		f.Fail("group", "guess.exists", logbook.Args{"Group": g.Group})
		f.Set("key", string(logbook.NewID()))
		return s.renderGuesses(w, r, http.StatusUnprocessableEntity, season, f)
	case err != nil:
		return err
	}
	s.SetNotice(r, v.P.T("guess.saved", logbook.Args{"Group": g.Group, "On": g.On}))
	http.Redirect(w, r, ui.SeasonPath(season.ID, ui.PageGuess), http.StatusSeeOther)
	return nil
}

// renderGuesses shows the guesses of a season and the form for one more.
func (s *Service) renderGuesses(w http.ResponseWriter, r *http.Request, status int, season *logbook.Season,
	f *form.Form) error {
	a, err := s.Assess.Assess(r.Context(), season, req.Of(r).Now)
	if err != nil {
		return err
	}
	page, top := s.SeasonPage(r, season, "guess.title", ui.PageGuess)
	p := page.P
	m := GuessPage{Page: page, Top: top, Intro: p.T("guess.intro")}
	if closed := words.GuessClosed(a); closed != "" {
		m.Closed = p.T(closed)
	}
	m.Problems = s.guessForm(p, &m.Form, f, "guess")
	m.Form.Page, m.Form.Action, m.Form.Submit = page, top.TankHref+ui.PageGuess, p.T("guess.submit")
	m.Form.Hidden = []ui.Option{{Value: "key", Label: f.Text("key")}}
	m.Error = len(m.Problems) > 0
	var then map[civil.Date]forecast.Result
	if hatch := &a.Forecast.Hatch; a.Forecast.Ok() && !hatch.Observed.IsZero() && len(season.Guesses) > 0 {
		if then, err = s.forecastsOf(r, season); err != nil {
			return err
		}
		m.Strip = guessStripView(p, season, hatch, then)
		m.Result = guessResult(p, season, hatch)
	}
	for i := range season.Guesses {
		m.Rows = append(m.Rows, guessRow(p, &season.Guesses[i], &a, then, m.Closed == ""))
	}
	return s.Render(w, r, status, GuessPageView(m))
}

// guessForm fills the fields that a new guess and a correction share.
func (s *Service) guessForm(p *i18n.Printer, to *ui.FormPage, f *form.Form, prefix string) ui.Problems {
	b := form.FormItems(s.Cat, p, prefix+"_field")
	b.Text("group", f.Raw("group"))
	b.Date("on", f.Raw("on"), false)
	to.Items, to.Problems = b.List, b.Problems(f.Problems)
	return to.Problems
}

// guessOf loads the guess of the address with its season.
func (s *Service) guessOf(r *http.Request) (logbook.Guess, *logbook.Season, error) {
	g, err := s.DB.Guess(r.Context(), logbook.ID(chi.URLParam(r, "guessID")))
	if err != nil {
		return g, nil, err
	}
	season, err := s.DB.LoadSeason(r.Context(), g.SeasonID)
	if err != nil {
		return g, nil, err
	}
	if !req.Of(r).Actor.MaySee(season.Site.ID) || g.Voided {
		return g, nil, logbook.Missing("guess")
	}
	return g, season, nil
}

func (s *Service) guessEdit(w http.ResponseWriter, r *http.Request) error {
	g, season, err := s.guessOf(r)
	if err != nil {
		return err
	}
	f := form.NewForm()
	f.Set("group", g.Group)
	f.Set("on", g.On.String())
	f.Set("revision", typedInt(g.Revision))
	return s.renderGuessEdit(w, r, http.StatusOK, &g, season, f)
}

func (s *Service) renderGuessEdit(w http.ResponseWriter, r *http.Request, status int, g *logbook.Guess,
	season *logbook.Season, f *form.Form) error {
	page, _ := s.SeasonPage(r, season, "guess.correct_title", ui.PageGuess)
	m := ui.FormPage{Page: page, Action: "/guesses/" + string(g.ID) + "/correct",
		Submit: page.T("guess.correct_submit"),
		Cancel: ui.SeasonPath(season.ID, ui.PageGuess),
		Hidden: []ui.Option{{Value: "revision", Label: f.Text("revision")}}}
	s.guessForm(page.P, &m, f, "guess")
	b := form.FormItems(s.Cat, page.P, "guess_field")
	b.Pick("reason", f.Raw("reason"), words.ReasonOptions(page.P))
	b.OptionalText("reason_text", f.Raw("reason_text"))
	m.Items = append(m.Items, b.List...)
	m.Error = len(m.Problems) > 0
	return s.Render(w, r, status, ui.FormPageView(m))
}

// guessCorrect replaces what a guess says, until the hatch is seen.
func (s *Service) guessCorrect(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	have, season, err := s.guessOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	if f.Text("review") != "" { // only shown
		return s.renderGuessEdit(w, r, http.StatusOK, &have, season, f)
	}
	g := have
	g.Group, g.On = f.Text("group"), f.Date("on")
	if g.On != have.On {
		// Another day is another guess: it is compared with the forecast of today.
		g.MadeOn = s.Assess.Today(season.Site, v.Now)
	}
	f.Add(g.Validate(season))
	reason, from := form.FormReason(f), f.Revision()
	if closed, err := s.GuessesClosed(r, season); err != nil {
		return err
	} else if closed != "" && len(f.Problems) == 0 {
		f.Fail("on", closed, nil)
	}
	if len(f.Problems) == 0 {
		_, err = s.DB.CorrectGuess(r.Context(), v.Actor, have.ID, from, g, reason, v.Now)
		var e *logbook.Error
		if errors.As(err, &e) && e.Key == "guess.exists" {
			f.Fail("group", "guess.exists", logbook.Args{"Group": g.Group})
		} else if err != nil {
			return err
		}
	}
	if len(f.Problems) > 0 {
		return s.renderGuessEdit(w, r, http.StatusUnprocessableEntity, &have, season, f)
	}
	s.SetNotice(r, v.P.T("guess.corrected"))
	http.Redirect(w, r, ui.SeasonPath(season.ID, ui.PageGuess), http.StatusSeeOther)
	return nil
}
