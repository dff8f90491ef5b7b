package req

import (
	"context"
	"net/http"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/web/form"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// FormPage is a form page whose texts come from "<prefix>.<verb>...".
func (s *Kernel) FormPage(r *http.Request, b *form.Items, verb, nav, action, cancel string) ui.FormPage {
	p := s.NewPage(r, b.Prefix+"."+verb, nav)
	return ui.FormPage{Page: p, Action: action, Submit: b.P.T(b.Prefix + "." + verb + ".submit"), Cancel: cancel,
		Items: b.List}
}

// ShowForm renders a form page; with problems it is shown again with status 422.
func (s *Kernel) ShowForm(w http.ResponseWriter, r *http.Request, v ui.FormPage, b *form.Items,
	problems []logbook.Problem) error {
	status := http.StatusOK
	if len(problems) > 0 {
		status, v.Error = StatusWith(problems), true
		v.Problems = b.Problems(problems)
	}
	return s.Render(w, r, status, ui.FormPageView(v))
}

// Saved goes on to a page with the confirmation "Saved."
func (s *Kernel) Saved(w http.ResponseWriter, r *http.Request, to string) error {
	s.SetNotice(r, Of(r).P.T("form.saved"))
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// EntryPage starts a page about a tank, in the unit of its site.
func (s *Kernel) EntryPage(r *http.Request, titleKey string, season *logbook.Season) ui.Page {
	v := Of(r)
	p := s.NewPage(r, titleKey, "board")
	p.P = s.InSite(v, season.Site)
	p.Title = p.T(titleKey, logbook.Args{"Tank": season.Tank.Name})
	p.Styles = ui.CheckStyles
	return p
}

// FlagDone says what was done and leads back to where the person came from.
func (s *Kernel) FlagDone(w http.ResponseWriter, r *http.Request, notice string, season logbook.ID) error {
	s.Sessions.Put(r.Context(), KeyNotice, notice)
	back := SafeNext(r.PostFormValue("back"))
	if back == "/" {
		back = ui.SeasonPath(season)
	}
	http.Redirect(w, r, back, http.StatusSeeOther)
	return nil
}

// SeasonPage starts a page of a season, with links to its sisters.
func (s *Kernel) SeasonPage(r *http.Request, season *logbook.Season, titleKey, here string) (ui.Page, ui.SeasonTop) {
	v := Of(r)
	p := s.NewPage(r, titleKey, "board")
	p.Title = p.T(titleKey, logbook.Args{"Tank": season.Tank.Name})
	p.Styles = []string{"pieces.css", "forecast.css"}
	href := ui.SeasonPath(season.ID)
	top := ui.SeasonTop{Site: season.Site.Name, Tank: season.Tank.Name, TankHref: href,
		Subtitle: p.T("tank.subtitle", logbook.Args{"Species": season.Lot.Species, "Lot": season.Lot.Code,
			"Season": season.Label})}
	for _, page := range []string{ui.PageForecast, ui.PageHow, ui.PageGuess, ui.PagePlan, ui.PageSurvival} {
		if page == here || (page == ui.PagePlan && v.Actor.Role == logbook.Class) {
			continue
		}
		top.Links = append(top.Links, ui.PageLink{Href: href + page, Text: p.T("season_link." + page[1:])})
	}
	return p, top
}

// ProgrammeToday is the date by which a lot is judged: lots belong to no site,
// so the latest date anywhere on earth counts.
func (v *Info) ProgrammeToday() civil.Date { return civil.In(v.Now.UTC(), lastZone) }

// GuessesClosed is the key of why no guess can be made any more, or "".
func (s *Kernel) GuessesClosed(r *http.Request, season *logbook.Season) (string, error) {
	a, err := s.Assess.Assess(r.Context(), season, Of(r).Now)
	if err != nil {
		return "", err
	}
	return words.GuessClosed(a), nil
}

// PlanWork loads what a plan of a season starts from. none is the key of why
// nothing can be planned.
func (s *Kernel) PlanWork(ctx context.Context, season *logbook.Season, v *Info) (k *assess.PlanWork,
	none logbook.Problem, err error) {
	k = &assess.PlanWork{}
	if k.Result, err = s.Assess.Assess(ctx, season, v.Now); err != nil {
		return nil, none, err
	}
	if k.Profile, err = s.Assess.Profile(ctx); err != nil {
		return nil, none, err
	}
	f := &k.Forecast
	switch {
	case !season.ClosedOn.IsZero() && !k.Today.Before(season.ClosedOn):
		none.Key, none.Args = "tank.ended", logbook.Args{"On": season.ClosedOn}
	case !f.Ok():
		none.Key, none.Args = f.Reason, f.Args
	case f.SwimUp.BeforeStart || !f.SwimUp.Observed.IsZero():
		none.Key = "forecast.plan.already"
	}
	k.Eggs, k.Alevin = k.Safe(logbook.EyedEgg), k.Safe(logbook.Alevin)
	if f.SwimUp.Ok() && !f.SwimUp.Last.IsZero() {
		k.Margin = max(0, f.SwimUp.Last.Sub(f.SwimUp.P50))
	}
	return k, none, nil
}

// DutyTurn is whose turn a day is at a site; Who is empty when nobody was named.
func (s *Kernel) DutyTurn(ctx context.Context, site logbook.ID, on civil.Date) (logbook.DutyTurn, error) {
	l, err := s.DB.DutyList(ctx, site)
	if err != nil {
		return logbook.DutyTurn{}, err
	}
	return l.On(on), nil
}
