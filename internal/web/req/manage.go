package req

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/web/form"
	"reddside/internal/web/ui"
)

// SiteOf loads the site of the address for an actor who may see it.
func (s *Kernel) SiteOf(r *http.Request) (logbook.Site, error) {
	id := logbook.ID(chi.URLParam(r, "siteID"))
	if !Of(r).Actor.MaySee(id) {
		return logbook.Site{}, logbook.Missing("site")
	}
	return s.DB.Site(r.Context(), id)
}

// TankOf loads the tank of the address and its site.
func (s *Kernel) TankOf(r *http.Request) (logbook.Tank, logbook.Site, error) {
	t, err := s.DB.Tank(r.Context(), logbook.ID(chi.URLParam(r, "tankID")))
	if err != nil {
		return t, logbook.Site{}, err
	}
	if !Of(r).Actor.MaySee(t.SiteID) {
		return t, logbook.Site{}, logbook.Missing("tank")
	}
	site, err := s.DB.Site(r.Context(), t.SiteID)
	return t, site, err
}

// SeasonOf loads the season of the address for an actor who may see it.
func (s *Kernel) SeasonOf(r *http.Request) (*logbook.Season, error) {
	season, err := s.DB.LoadSeason(r.Context(), logbook.ID(chi.URLParam(r, "seasonID")))
	if err != nil {
		return nil, err
	}
	if !Of(r).Actor.MaySee(season.Site.ID) {
		return nil, logbook.Missing("season")
	}
	return season, nil
}

// FormPage is a form page whose texts come from "<prefix>.<verb>...".
func (s *Kernel) FormPage(r *http.Request, b *form.Items, verb, nav, action, cancel string) ui.FormPage {
	p := s.NewPage(r, b.Prefix+"."+verb, nav)
	return ui.FormPage{Page: p, Action: action, Submit: b.P.T(b.Prefix + "." + verb + ".submit"), Cancel: cancel, Items: b.List}
}

// ShowForm renders a form page; with problems it is shown again with status 422.
func (s *Kernel) ShowForm(w http.ResponseWriter, r *http.Request, v ui.FormPage, b *form.Items, problems []logbook.Problem) error {
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
