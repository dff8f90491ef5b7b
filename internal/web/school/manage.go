package school

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// manageRoutes are sites, tanks, lots, seasons and deliveries.
func (s *Service) manageRoutes(r chi.Router) {
	r.Get("/sites", s.Page(s.siteList))
	r.Get("/sites/{siteID}", s.Page(s.siteShow))
	r.Get("/sites/{siteID}/edit", s.Page(s.siteEdit))
	r.Post("/sites/{siteID}/edit", s.Page(s.siteUpdate))
	r.Get("/sites/{siteID}/closed-days/new", s.Page(s.closedNew))
	r.Post("/sites/{siteID}/closed-days", s.Page(s.closedCreate))
	r.Get("/sites/{siteID}/tanks/new", s.Page(s.tankNew))
	r.Post("/sites/{siteID}/tanks", s.Page(s.tankCreate))
	r.Get("/tanks/{tankID}/edit", s.Page(s.tankEdit))
	r.Post("/tanks/{tankID}/edit", s.Page(s.tankUpdate))
	r.Get(permitsPath, s.Page(s.permitList))
	r.Get("/lots", s.Page(s.lotList))
	r.Get("/lots/new", s.Page(s.lotNew))
	r.Post("/lots", s.Page(s.lotCreate))
	r.Get("/lots/{lotID}/edit", s.Page(s.lotEdit))
	r.Post("/lots/{lotID}/edit", s.Page(s.lotUpdate))
	r.Get("/tanks/{tankID}/seasons/new", s.Page(s.seasonNew))
	r.Post("/tanks/{tankID}/seasons", s.Page(s.seasonCreate))
	r.Get("/seasons/{seasonID}/edit", s.Page(s.seasonEdit))
	r.Post("/seasons/{seasonID}/edit", s.Page(s.seasonUpdate))
	r.Get("/seasons/{seasonID}/deliveries/new", s.Page(s.deliveryNew))
	r.Post("/seasons/{seasonID}/deliveries", s.Page(s.deliveryCreate))
	r.Get("/deliveries/{deliveryID}/correct", s.Page(s.deliveryEdit))
	r.Post("/deliveries/{deliveryID}/correct", s.Page(s.deliveryUpdate))
}

func (s *Service) siteList(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	sites, err := s.DB.Sites(r.Context())
	if err != nil {
		return err
	}
	entries, err := s.Assess.BoardEntries(r.Context(), v.Actor, v.Now)
	if err != nil {
		return err
	}
	open := map[logbook.ID]int{}
	for _, e := range entries {
		open[e.Site.ID]++
	}
	m := SiteList{Page: s.NewPage(r, "site.list", "sites"), MayAdd: v.Actor.Role == logbook.Coordinator}
	for _, site := range sites {
		if v.Actor.MaySee(site.ID) {
			m.Rows = append(m.Rows, SiteRow{ID: string(site.ID), Name: site.Name, Zone: site.Zone, Open: open[site.ID]})
		}
	}
	return s.Render(w, r, http.StatusOK, SiteListPage(m))
}

func (s *Service) siteShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	tanks, err := s.DB.Tanks(r.Context(), site.ID)
	if err != nil {
		return err
	}
	heads, err := s.DB.SeasonHeads(r.Context(), store.SeasonFilter{SiteID: site.ID})
	if err != nil {
		return err
	}
	spans, err := s.DB.ClosedSpans(r.Context(), site.ID)
	if err != nil {
		return err
	}
	ready, err := s.DB.ReadyTicks(r.Context(), "")
	if err != nil {
		return err
	}
	m := SiteShow{Page: s.NewPage(r, "site.show", "sites"), ID: string(site.ID), Zone: site.Zone}
	m.Title = site.Name
	for _, t := range tanks {
		row := TankRow{Ready: readyText(v.P, ready[t.ID]), ID: string(t.ID), Name: t.Name, Volume: v.P.Value(t.Volume),
			Wall: v.P.T(t.Wall.MessageKey())}
		for _, h := range heads {
			if h.TankID == t.ID {
				row.Seasons = append(row.Seasons, TankSeason{ID: string(h.ID), Label: h.Label, Open: !h.Closed})
				row.Busy = row.Busy || !h.Closed
			}
		}
		m.Tanks = append(m.Tanks, row)
	}
	m.Closed = closedLines(v.P, ui.SitePath(site.ID), spans)
	return s.Render(w, r, http.StatusOK, SiteShowPage(m))
}

func (s *Service) siteEdit(w http.ResponseWriter, r *http.Request) error {
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	return s.siteEditForm(w, r, site, siteForm(site), site.Revision)
}

func (s *Service) siteEditForm(w http.ResponseWriter, r *http.Request, site logbook.Site, f *form.Form,
	revision int64) error {
	b := s.siteItems(req.Of(r).P, f)
	weekendsItems(b, f)
	v := s.FormPage(r, b, "edit", "sites", ui.SitePath(site.ID, "/edit"), ui.SitePath(site.ID))
	v.Hidden = []ui.Option{form.RevisionField(revision)}
	return s.ShowForm(w, r, v, b, f.Problems)
}

func (s *Service) siteUpdate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	site.Revision = f.Revision()
	site = readSite(f, site)
	if len(f.Problems) > 0 {
		return s.siteEditForm(w, r, site, f, site.Revision)
	}
	_, err = s.DB.UpdateSite(r.Context(), v.Actor, site, v.Now)
	if req.IsStale(err) {
		now, err := s.SiteOf(r)
		if err != nil {
			return err
		}
		f.EditConflict(siteForm(now), now.Revision)
		return s.siteEditForm(w, r, now, f, now.Revision)
	}
	if err != nil {
		return err
	}
	return s.Saved(w, r, ui.SitePath(site.ID))
}

func (s *Service) tankNew(w http.ResponseWriter, r *http.Request) error {
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	return s.tankNewForm(w, r, site, form.NewForm())
}

func (s *Service) tankNewForm(w http.ResponseWriter, r *http.Request, site logbook.Site, f *form.Form) error {
	b := s.tankItems(req.Of(r).P, f, site)
	return s.ShowForm(w, r, s.FormPage(r, b, "new", "sites", ui.SitePath(site.ID, "/tanks"), ui.SitePath(site.ID)), b,
		f.Problems)
}

func (s *Service) tankCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	t := readTank(f, logbook.Tank{SiteID: site.ID}, site)
	if len(f.Problems) > 0 {
		return s.tankNewForm(w, r, site, f)
	}
	if _, err := s.DB.CreateTank(r.Context(), v.Actor, t, v.Now, store.IdempotencyKey{}); err != nil {
		return err
	}
	return s.Saved(w, r, ui.SitePath(site.ID))
}

func (s *Service) tankEdit(w http.ResponseWriter, r *http.Request) error {
	t, site, err := s.TankOf(r)
	if err != nil {
		return err
	}
	return s.tankEditForm(w, r, t, site, tankForm(t, site))
}

func (s *Service) tankEditForm(w http.ResponseWriter, r *http.Request, t logbook.Tank, site logbook.Site,
	f *form.Form) error {
	b := s.tankItems(req.Of(r).P, f, site)
	v := s.FormPage(r, b, "edit", "sites", ui.TankPath(t.ID, "/edit"), ui.SitePath(site.ID))
	v.Hidden = []ui.Option{form.RevisionField(t.Revision)}
	return s.ShowForm(w, r, v, b, f.Problems)
}

func (s *Service) tankUpdate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	t, site, err := s.TankOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	before := t.Volume
	t.Revision = f.Revision()
	t = readTank(f, t, site)
	if f.Text("volume_unit") == "L" && units.Round(float64(before), 1) == float64(t.Volume) {
		t.Volume = before // shown rounded; an unchanged field keeps what was stored
	}
	if len(f.Problems) > 0 {
		return s.tankEditForm(w, r, t, site, f)
	}
	_, err = s.DB.UpdateTank(r.Context(), v.Actor, t, v.Now)
	if req.IsStale(err) {
		now, site, err := s.TankOf(r)
		if err != nil {
			return err
		}
		f.EditConflict(tankForm(now, site), now.Revision)
		return s.tankEditForm(w, r, now, site, f)
	}
	if err != nil {
		return err
	}
	return s.Saved(w, r, ui.SitePath(site.ID))
}
