package web

import (
	"net/http"
	"slices"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

// Times of pairing; local choices: a code is walked to the tablet at once, and a
// pairing is looked at again each school year.
const (
	pairCodeLifetime = 15 * time.Minute
	maxPairedDays    = 366
	termAhead        = 30 // a term that ends sooner is not worth a pairing: the next one is proposed
)

// Session values of the keeper who pairs: the code is stored as a hash only, so
// the page that shows it takes it from here.
const (
	keyPairDevice = "pair_device"
	keyPairCode   = "pair_code"
)

// tabletRoutes are the keeper's pages of a school's tablets.
func (s *Server) tabletRoutes(r chi.Router) {
	r.Get("/sites/{siteID}/tablets", s.page(s.tabletList))
	r.Post("/sites/{siteID}/tablets", s.page(s.tabletInvite))
	r.Get("/sites/{siteID}/tablets/{deviceID}", s.page(s.tabletShow))
	r.Post("/sites/{siteID}/tablets/{deviceID}/withdraw", s.page(s.tabletWithdraw))
}

func (s *Server) tabletList(w http.ResponseWriter, r *http.Request) error {
	site, err := s.siteOf(r)
	if err != nil {
		return err
	}
	f := newForm()
	f.set("ends_on", endOfTerm(s.today(site, visitOf(r).now)).String())
	return s.renderTablets(w, r, site, f)
}

// endOfTerm proposes 30 June, when most schools of the programme's seasons end
// (a local choice; the keeper can change it).
func endOfTerm(today civil.Date) civil.Date {
	year, _, _ := today.YMD()
	end := civil.Of(year, time.June, 30)
	if end.Before(today.AddDays(termAhead)) {
		end = civil.Of(year+1, time.June, 30)
	}
	return end
}

// renderTablets shows the list with the form to pair another.
func (s *Server) renderTablets(w http.ResponseWriter, r *http.Request, site logbook.Site, f *form) error {
	v := visitOf(r)
	list, err := s.db.Devices(r.Context(), site.ID)
	if err != nil {
		return err
	}
	path := "/sites/" + string(site.ID)
	m := view.TabletsPage{Page: s.newPage(r, "tablet.title", "sites"), Site: site.Name, SiteHref: path}
	m.Styles = []string{"tablet.css"}
	// Those in use first, then the newest.
	slices.SortStableFunc(list, func(a, b store.Device) int {
		if x, y := a.Usable(v.now), b.Usable(v.now); x != y {
			if x {
				return -1
			}
			return 1
		}
		return b.CreatedAt.Compare(a.CreatedAt)
	})
	for i := range list {
		m.Rows = append(m.Rows, tabletRow(v.p, &list[i], site.Location(), v.now))
	}
	m.Addresses = s.tabletAddresses(r, list)
	b := formItems(s.cat, v.p, "tablet")
	b.text("label", f.raw("label"))
	b.date("ends_on", f.raw("ends_on"), false)
	form := s.formPage(r, b, "pair", "sites", path+"/tablets", "")
	m.Form = form
	status := http.StatusOK
	if len(f.problems) > 0 {
		status, m.Error = http.StatusUnprocessableEntity, true
		m.Form.Problems = b.problems(f.problems)
	}
	return s.render(w, r, status, view.TabletsPageView(m))
}

// tabletRow is one tablet in words.
func tabletRow(p *i18n.Printer, d *store.Device, loc *time.Location, now time.Time) view.TabletRow {
	path := "/sites/" + string(d.SiteID) + "/tablets/" + string(d.ID)
	row := view.TabletRow{Label: d.Label, Since: dateOf(p, d.PairedAt, loc), Ends: p.Date(civil.In(d.ExpiresAt.Add(-time.Second), loc)), Usable: d.Usable(now)}
	if !d.LastEntryAt.IsZero() {
		row.Last = p.When(d.LastEntryAt, loc)
	}
	codeUntil := d.CreatedAt.Add(pairCodeLifetime)
	switch {
	case !d.RevokedAt.IsZero():
		row.State = p.T("tablet.state.withdrawn", logbook.Args{"On": civil.In(d.RevokedAt, loc), "By": d.RevokedBy})
	case !d.ExpiresAt.After(now):
		row.State = p.T("tablet.state.ended")
	case !d.PairedAt.IsZero():
		row.State, row.Withdraw = p.T("tablet.state.paired"), path+"/withdraw"
	case codeUntil.After(now):
		row.State, row.Withdraw, row.Href = p.T("tablet.state.waiting", logbook.Args{"Until": p.Clock(codeUntil, loc)}), path+"/withdraw", path
	default:
		row.State, row.Ends = p.T("tablet.state.unused"), ""
	}
	return row
}

func dateOf(p *i18n.Printer, t time.Time, loc *time.Location) string {
	if t.IsZero() {
		return ""
	}
	return p.Date(civil.In(t, loc))
}

// tabletAddresses tells where tablets reach the server, and what has changed.
func (s *Server) tabletAddresses(r *http.Request, list []store.Device) view.TabletAddresses {
	v := visitOf(r)
	reached := s.reachedAt(r)
	var out view.TabletAddresses
	for _, a := range reached {
		out.URLs = append(out.URLs, s.baseURL(r, a))
	}
	if len(reached) == 0 {
		return out
	}
	if qr, err := newQR(out.URLs[0] + "/"); err == nil {
		out.QR = qr
	}
	for _, a := range s.network.gone(v.now) {
		out.Gone = append(out.Gone, s.baseURL(r, a))
	}
	for i := range list {
		if d := &list[i]; d.Usable(v.now) && d.PairedAddress != "" && !loopbackHost(d.PairedAddress) && !slices.Contains(reached, d.PairedAddress) {
			out.Moved = append(out.Moved, v.p.T("tablet.moved", logbook.Args{"Label": d.Label, "Address": s.baseURL(r, d.PairedAddress)}))
		}
	}
	return out
}

// tabletInvite makes a code for a tablet.
func (s *Server) tabletInvite(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	site, err := s.siteOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	d := store.Device{SiteID: site.ID, Label: f.text("label")}
	f.add(logbook.ValidateLabel("label", d.Label))
	today, ends := s.today(site, v.now), f.date("ends_on")
	switch {
	case f.has("ends_on"):
	case ends.IsZero():
		f.fail("ends_on", "tablet.ends_on.empty", nil)
	case ends.Before(today):
		f.fail("ends_on", "tablet.ends_on.past", nil)
	case ends.Sub(today) > maxPairedDays:
		f.fail("ends_on", "tablet.ends_on.far", logbook.Args{"Last": today.AddDays(maxPairedDays)})
	}
	if len(f.problems) > 0 {
		return s.renderTablets(w, r, site, f)
	}
	d.ExpiresAt = ends.AddDays(1).Start(site.Location())
	code, err := newCode()
	if err != nil {
		return err
	}
	if d, err = s.db.InviteDevice(r.Context(), v.actor, d, secretHash(code), v.now.Add(pairCodeLifetime), v.now); err != nil {
		return err
	}
	s.sessions.Put(r.Context(), keyPairDevice, string(d.ID))
	s.sessions.Put(r.Context(), keyPairCode, code)
	http.Redirect(w, r, "/sites/"+string(site.ID)+"/tablets/"+string(d.ID), http.StatusSeeOther)
	return nil
}

// deviceOf loads the tablet of the address.
func (s *Server) deviceOf(r *http.Request) (store.Device, logbook.Site, error) {
	site, err := s.siteOf(r)
	if err != nil {
		return store.Device{}, site, err
	}
	d, err := s.db.Device(r.Context(), urlID(r, "deviceID"))
	if err == nil && d.SiteID != site.ID {
		err = logbook.Missing("device")
	}
	return d, site, err
}

// tabletShow shows the code of a tablet while it waits, and tells when it has
// been paired.
func (s *Server) tabletShow(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	d, site, err := s.deviceOf(r)
	if err != nil {
		return err
	}
	path := "/sites/" + string(site.ID) + "/tablets"
	m := view.TabletCode{Page: s.newPage(r, "tablet.code.title", "sites"), Site: site.Name, SiteHref: "/sites/" + string(site.ID), ListHref: path}
	m.Title = m.T("tablet.code.title", logbook.Args{"Label": d.Label})
	m.Styles = []string{"tablet.css"}
	code := ""
	if s.sessions.GetString(r.Context(), keyPairDevice) == string(d.ID) {
		code = s.sessions.GetString(r.Context(), keyPairCode)
	}
	until := d.CreatedAt.Add(pairCodeLifetime)
	switch {
	case d.Usable(v.now):
		m.State = m.T("tablet.code.paired")
	case code == "" || !until.After(v.now) || !d.PairedAt.IsZero() || !d.RevokedAt.IsZero():
		m.State = m.T("tablet.code.over")
	default:
		m.Code, m.Until, m.Refresh = spacedCode(code), v.p.Clock(until, site.Location()), 15
		if err := s.pairingAddresses(r, &m, code); err != nil {
			return err
		}
	}
	return s.render(w, r, http.StatusOK, view.TabletCodePage(m))
}

// pairingAddresses fills where the tablet goes: the address that was chosen, or
// the best one.
func (s *Server) pairingAddresses(r *http.Request, m *view.TabletCode, code string) error {
	reached := s.reachedAt(r)
	if len(reached) == 0 {
		// On this computer alone it can still be tried out.
		m.Loopback = true
		reached = []string{r.Host}
	}
	chosen := reached[0]
	if at := r.URL.Query().Get("at"); slices.Contains(reached, at) {
		chosen = at
	}
	m.Address = s.baseURL(r, chosen) + "/pair"
	for _, a := range reached {
		if a != chosen {
			m.Others = append(m.Others, view.Option{Value: r.URL.Path + "?at=" + a, Label: s.baseURL(r, a)})
		}
	}
	var err error
	m.QR, err = newQR(m.Address + "/" + code)
	return err
}

func (s *Server) tabletWithdraw(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	d, site, err := s.deviceOf(r)
	if err != nil {
		return err
	}
	if err := s.db.RevokeDevice(r.Context(), v.actor, d.ID, v.now); err != nil {
		return err
	}
	s.log.Info("tablet withdrawn", "id", v.id)
	s.setNotice(r, v.p.T("tablet.withdrawn", logbook.Args{"Label": d.Label}))
	http.Redirect(w, r, "/sites/"+string(site.ID)+"/tablets", http.StatusSeeOther)
	return nil
}

// allTablets lists the tablets of each school, for the page of all who may sign
// in.
func (s *Server) allTablets(r *http.Request, sites []logbook.Site) ([]view.SiteTablets, error) {
	v := visitOf(r)
	devices, err := s.db.Devices(r.Context(), "")
	if err != nil {
		return nil, err
	}
	var out []view.SiteTablets
	for _, site := range sites {
		x := view.SiteTablets{Site: site.Name, Href: "/sites/" + string(site.ID) + "/tablets"}
		for i := range devices {
			if d := &devices[i]; d.SiteID == site.ID {
				x.Rows = append(x.Rows, tabletRow(v.p, d, site.Location(), v.now))
			}
		}
		out = append(out, x)
	}
	return out, nil
}
