package web

import (
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/view"
)

// manageRoutes are sites, tanks, lots, seasons and deliveries.
func (s *Server) manageRoutes(r chi.Router) {
	r.Get("/sites", s.page(s.siteList))
	r.Get("/sites/{siteID}", s.page(s.siteShow))
	r.Get("/sites/{siteID}/edit", s.page(s.siteEdit))
	r.Post("/sites/{siteID}/edit", s.page(s.siteUpdate))
	r.Get("/sites/{siteID}/closed-days/new", s.page(s.closedNew))
	r.Post("/sites/{siteID}/closed-days", s.page(s.closedCreate))
	r.Get("/sites/{siteID}/tanks/new", s.page(s.tankNew))
	r.Post("/sites/{siteID}/tanks", s.page(s.tankCreate))
	r.Get("/tanks/{tankID}/edit", s.page(s.tankEdit))
	r.Post("/tanks/{tankID}/edit", s.page(s.tankUpdate))
	r.Get("/lots", s.page(s.lotList))
	r.Get("/lots/new", s.page(s.lotNew))
	r.Post("/lots", s.page(s.lotCreate))
	r.Get("/lots/{lotID}/edit", s.page(s.lotEdit))
	r.Post("/lots/{lotID}/edit", s.page(s.lotUpdate))
	r.Get("/tanks/{tankID}/seasons/new", s.page(s.seasonNew))
	r.Post("/tanks/{tankID}/seasons", s.page(s.seasonCreate))
	r.Get("/seasons/{seasonID}/edit", s.page(s.seasonEdit))
	r.Post("/seasons/{seasonID}/edit", s.page(s.seasonUpdate))
	r.Get("/seasons/{seasonID}/deliveries/new", s.page(s.deliveryNew))
	r.Post("/seasons/{seasonID}/deliveries", s.page(s.deliveryCreate))
	r.Get("/deliveries/{deliveryID}/correct", s.page(s.deliveryEdit))
	r.Post("/deliveries/{deliveryID}/correct", s.page(s.deliveryUpdate))
}

// siteOf loads the site of the address for an actor who may see it.
func (s *Server) siteOf(r *http.Request) (logbook.Site, error) {
	id := logbook.ID(chi.URLParam(r, "siteID"))
	if !visitOf(r).actor.MaySee(id) {
		return logbook.Site{}, logbook.Missing("site")
	}
	return s.db.Site(r.Context(), id)
}

// tankOf loads the tank of the address and its site.
func (s *Server) tankOf(r *http.Request) (logbook.Tank, logbook.Site, error) {
	t, err := s.db.Tank(r.Context(), logbook.ID(chi.URLParam(r, "tankID")))
	if err != nil {
		return t, logbook.Site{}, err
	}
	if !visitOf(r).actor.MaySee(t.SiteID) {
		return t, logbook.Site{}, logbook.Missing("tank")
	}
	site, err := s.db.Site(r.Context(), t.SiteID)
	return t, site, err
}

// seasonOf loads the season of the address for an actor who may see it.
func (s *Server) seasonOf(r *http.Request) (*logbook.Season, error) {
	season, err := s.db.LoadSeason(r.Context(), logbook.ID(chi.URLParam(r, "seasonID")))
	if err != nil {
		return nil, err
	}
	if !visitOf(r).actor.MaySee(season.Site.ID) {
		return nil, logbook.Missing("season")
	}
	return season, nil
}

// formPage is a form page whose texts come from "<prefix>.<verb>...".
func (s *Server) formPage(r *http.Request, b *items, verb, nav, action, cancel string) view.FormPage {
	p := s.newPage(r, b.prefix+"."+verb, nav)
	return view.FormPage{Page: p, Action: action, Submit: b.p.T(b.prefix + "." + verb + ".submit"), Cancel: cancel, Items: b.list}
}

// show renders a form page; with problems it is shown again with status 422.
func (s *Server) showForm(w http.ResponseWriter, r *http.Request, v view.FormPage, b *items, problems []logbook.Problem) error {
	status := http.StatusOK
	if len(problems) > 0 {
		status, v.Error = statusWith(problems), true
		v.Problems = b.problems(problems)
	}
	return s.render(w, r, status, view.FormPageView(v))
}

func revisionField(n int64) view.Option {
	return view.Option{Value: "revision", Label: strconv.FormatInt(n, 10)}
}

// revision reads the revision that an edit started from.
func (f *form) revision() int64 {
	n, err := strconv.ParseInt(f.text("revision"), 10, 64)
	if err != nil {
		f.fail("revision", "error.stale", nil)
	}
	return n
}

func (s *Server) siteList(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	sites, err := s.db.Sites(r.Context())
	if err != nil {
		return err
	}
	entries, err := s.boardEntries(r.Context(), v.actor, v.now)
	if err != nil {
		return err
	}
	open := map[logbook.ID]int{}
	for _, e := range entries {
		open[e.Site.ID]++
	}
	m := view.SiteList{Page: s.newPage(r, "site.list", "sites"), MayAdd: v.actor.Role == logbook.Coordinator}
	for _, site := range sites {
		if v.actor.MaySee(site.ID) {
			m.Rows = append(m.Rows, view.SiteRow{ID: string(site.ID), Name: site.Name, Zone: site.Zone, Open: open[site.ID]})
		}
	}
	return s.render(w, r, http.StatusOK, view.SiteListPage(m))
}

func (s *Server) siteShow(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	site, err := s.siteOf(r)
	if err != nil {
		return err
	}
	tanks, err := s.db.Tanks(r.Context(), site.ID)
	if err != nil {
		return err
	}
	heads, err := s.db.SeasonHeads(r.Context(), store.SeasonFilter{SiteID: site.ID})
	if err != nil {
		return err
	}
	spans, err := s.db.ClosedSpans(r.Context(), site.ID)
	if err != nil {
		return err
	}
	m := view.SiteShow{Page: s.newPage(r, "site.show", "sites"), ID: string(site.ID), Zone: site.Zone}
	m.Title = site.Name
	for _, t := range tanks {
		row := view.TankRow{ID: string(t.ID), Name: t.Name, Volume: v.p.Value(t.Volume), Wall: v.p.T(t.Wall.MessageKey())}
		for _, h := range heads {
			if h.TankID == t.ID {
				row.Seasons = append(row.Seasons, view.TankSeason{ID: string(h.ID), Label: h.Label, Open: !h.Closed})
				row.Busy = row.Busy || !h.Closed
			}
		}
		m.Tanks = append(m.Tanks, row)
	}
	m.Closed = closedLines(v.p, "/sites/"+string(site.ID), spans)
	return s.render(w, r, http.StatusOK, view.SiteShowPage(m))
}

func (s *Server) siteEdit(w http.ResponseWriter, r *http.Request) error {
	site, err := s.siteOf(r)
	if err != nil {
		return err
	}
	return s.siteEditForm(w, r, site, siteForm(site), site.Revision)
}

func (s *Server) siteEditForm(w http.ResponseWriter, r *http.Request, site logbook.Site, f *form, revision int64) error {
	b := s.siteItems(visitOf(r).p, f)
	weekendsItems(b, f)
	v := s.formPage(r, b, "edit", "sites", "/sites/"+string(site.ID)+"/edit", "/sites/"+string(site.ID))
	v.Hidden = []view.Option{revisionField(revision)}
	return s.showForm(w, r, v, b, f.problems)
}

func (s *Server) siteUpdate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	site, err := s.siteOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	site.Revision = f.revision()
	site = readSite(f, site)
	if len(f.problems) > 0 {
		return s.siteEditForm(w, r, site, f, site.Revision)
	}
	_, err = s.db.UpdateSite(r.Context(), v.actor, site, v.now)
	if isStale(err) {
		now, err := s.siteOf(r)
		if err != nil {
			return err
		}
		f.meanwhile(siteForm(now), now.Revision)
		return s.siteEditForm(w, r, now, f, now.Revision)
	}
	if err != nil {
		return err
	}
	return s.saved(w, r, "/sites/"+string(site.ID))
}

// saved goes on to a page with the confirmation "Saved."
func (s *Server) saved(w http.ResponseWriter, r *http.Request, to string) error {
	s.setNotice(r, visitOf(r).p.T("form.saved"))
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

func (s *Server) tankNew(w http.ResponseWriter, r *http.Request) error {
	site, err := s.siteOf(r)
	if err != nil {
		return err
	}
	return s.tankNewForm(w, r, site, newForm())
}

func (s *Server) tankNewForm(w http.ResponseWriter, r *http.Request, site logbook.Site, f *form) error {
	b := s.tankItems(visitOf(r).p, f, site)
	return s.showForm(w, r, s.formPage(r, b, "new", "sites", "/sites/"+string(site.ID)+"/tanks", "/sites/"+string(site.ID)), b, f.problems)
}

func (s *Server) tankCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	site, err := s.siteOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	t := readTank(f, logbook.Tank{SiteID: site.ID}, site)
	if len(f.problems) > 0 {
		return s.tankNewForm(w, r, site, f)
	}
	if _, err := s.db.CreateTank(r.Context(), v.actor, t, v.now, store.Once{}); err != nil {
		return err
	}
	return s.saved(w, r, "/sites/"+string(site.ID))
}

func (s *Server) tankEdit(w http.ResponseWriter, r *http.Request) error {
	t, site, err := s.tankOf(r)
	if err != nil {
		return err
	}
	return s.tankEditForm(w, r, t, site, tankForm(t, site))
}

func (s *Server) tankEditForm(w http.ResponseWriter, r *http.Request, t logbook.Tank, site logbook.Site, f *form) error {
	b := s.tankItems(visitOf(r).p, f, site)
	v := s.formPage(r, b, "edit", "sites", "/tanks/"+string(t.ID)+"/edit", "/sites/"+string(site.ID))
	v.Hidden = []view.Option{revisionField(t.Revision)}
	return s.showForm(w, r, v, b, f.problems)
}

func (s *Server) tankUpdate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	t, site, err := s.tankOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	before := t.Volume
	t.Revision = f.revision()
	t = readTank(f, t, site)
	if f.text("volume_unit") == "L" && units.Round(float64(before), 1) == float64(t.Volume) {
		t.Volume = before // shown rounded; an unchanged field keeps what was stored
	}
	if len(f.problems) > 0 {
		return s.tankEditForm(w, r, t, site, f)
	}
	_, err = s.db.UpdateTank(r.Context(), v.actor, t, v.now)
	if isStale(err) {
		now, site, err := s.tankOf(r)
		if err != nil {
			return err
		}
		f.meanwhile(tankForm(now, site), now.Revision)
		return s.tankEditForm(w, r, now, site, f)
	}
	if err != nil {
		return err
	}
	return s.saved(w, r, "/sites/"+string(site.ID))
}
