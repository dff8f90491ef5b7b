package school

import (
	"net/http"
	"slices"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// Times of pairing; local choices: a code is walked to the tablet at once, and a
// pairing is looked at again each school year.
const (
	PairCodeLifetime = 15 * time.Minute
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
func (s *Service) tabletRoutes(r chi.Router) {
	r.Get("/sites/{siteID}/tablets", s.Page(s.tabletList))
	r.Post("/sites/{siteID}/tablets", s.Page(s.tabletInvite))
	r.Get("/sites/{siteID}/tablets/{deviceID}", s.Page(s.tabletShow))
	r.Post("/sites/{siteID}/tablets/{deviceID}/withdraw", s.Page(s.tabletWithdraw))
	r.Post("/sites/{siteID}/tablets/{deviceID}/again", s.Page(s.tabletAgain))
}

func (s *Service) tabletList(w http.ResponseWriter, r *http.Request) error {
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	f := form.NewForm()
	f.Set("ends_on", endOfTerm(s.Assess.Today(site, req.Of(r).Now)).String())
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
func (s *Service) renderTablets(w http.ResponseWriter, r *http.Request, site logbook.Site, f *form.Form) error {
	v := req.Of(r)
	list, err := s.DB.Devices(r.Context(), site.ID)
	if err != nil {
		return err
	}
	path := ui.SitePath(site.ID)
	m := TabletsPage{Page: s.NewPage(r, "tablet.title", "sites"), Site: site.Name, SiteHref: path}
	m.Styles = []string{"tablet.css"}
	// Those in use first, then the newest.
	slices.SortStableFunc(list, func(a, b store.Device) int {
		if x, y := a.Usable(v.Now), b.Usable(v.Now); x != y {
			if x {
				return -1
			}
			return 1
		}
		return b.CreatedAt.Compare(a.CreatedAt)
	})
	reached := s.ReachedAt(r)
	for i := range list {
		row := tabletRow(v.P, &list[i], site.Location(), v.Now)
		if movedAway(&list[i], reached, v.Now) {
			row.Again = path + "/tablets/" + string(list[i].ID) + "/again"
		}
		m.Rows = append(m.Rows, row)
	}
	m.Addresses = s.tabletAddresses(r, list)
	b := form.FormItems(s.Cat, v.P, "tablet")
	b.Text("label", f.Raw("label"))
	b.Date("ends_on", f.Raw("ends_on"), false)
	form := s.FormPage(r, b, "pair", "sites", path+"/tablets", "")
	m.Form = form
	status := http.StatusOK
	if len(f.Problems) > 0 {
		status, m.Error = http.StatusUnprocessableEntity, true
		m.Form.Problems = b.Problems(f.Problems)
	}
	return s.Render(w, r, status, TabletsPageView(m))
}

// tabletRow is one tablet in words.
func tabletRow(p *i18n.Printer, d *store.Device, loc *time.Location, now time.Time) TabletRow {
	path := ui.SitePath(d.SiteID, "/tablets/") + string(d.ID)
	row := TabletRow{Label: d.Label, Since: dateOf(p, d.PairedAt, loc),
		Ends: p.Date(civil.In(d.ExpiresAt.Add(-time.Second), loc)), Usable: d.Usable(now)}
	if !d.LastEntryAt.IsZero() {
		row.Last = p.When(d.LastEntryAt, loc)
	}
	codeUntil := d.CreatedAt.Add(PairCodeLifetime)
	switch {
	case !d.RevokedAt.IsZero():
		row.State = p.T("tablet.state.withdrawn", logbook.Args{"On": civil.In(d.RevokedAt, loc), "By": d.RevokedBy})
	case !d.ExpiresAt.After(now):
		row.State = p.T("tablet.state.ended")
	case !d.PairedAt.IsZero():
		row.State, row.Withdraw = p.T("tablet.state.paired"), path+"/withdraw"
	case codeUntil.After(now):
		row.State, row.Withdraw, row.Href = p.T("tablet.state.waiting", logbook.Args{"Until": p.Clock(codeUntil, loc)}),
			path+"/withdraw", path
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
func (s *Service) tabletAddresses(r *http.Request, list []store.Device) TabletAddresses {
	v := req.Of(r)
	reached := s.ReachedAt(r)
	var out TabletAddresses
	for _, a := range reached {
		out.URLs = append(out.URLs, s.BaseURL(r, a))
	}
	if len(reached) == 0 {
		return out
	}
	if qr, err := NewQR(out.URLs[0] + "/"); err == nil {
		out.QR = qr
	}
	for _, a := range s.Network.Gone(v.Now) {
		out.Gone = append(out.Gone, s.BaseURL(r, a))
	}
	for i := range list {
		if d := &list[i]; movedAway(d, reached, v.Now) {
			out.Moved = append(out.Moved,
				v.P.T("tablet.moved", logbook.Args{"Label": d.Label, "Address": s.BaseURL(r, d.PairedAddress)}))
		}
	}
	return out
}

// movedAway reports whether a tablet in use was paired under an address that leads
// here no more.
func movedAway(d *store.Device, reached []string, now time.Time) bool {
	return len(reached) > 0 && d.Usable(now) && d.PairedAddress != "" && !req.LoopbackHost(d.PairedAddress) &&
		!slices.Contains(reached, d.PairedAddress)
}

// tabletInvite makes a code for a tablet.
func (s *Service) tabletInvite(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	d := store.Device{SiteID: site.ID, Label: f.Text("label")}
	f.Add(logbook.ValidateLabel("label", d.Label))
	today, ends := s.Assess.Today(site, v.Now), f.Date("ends_on")
	switch {
	case f.Has("ends_on"):
	case ends.IsZero():
		f.Fail("ends_on", "tablet.ends_on.empty", nil)
	case ends.Before(today):
		f.Fail("ends_on", "tablet.ends_on.past", nil)
	case ends.Sub(today) > maxPairedDays:
		f.Fail("ends_on", "tablet.ends_on.far", logbook.Args{"Last": today.AddDays(maxPairedDays)})
	}
	if len(f.Problems) > 0 {
		return s.renderTablets(w, r, site, f)
	}
	d.ExpiresAt = ends.AddDays(1).Start(site.Location())
	return s.invite(w, r, d)
}

// invite makes a code for a tablet and shows it.
func (s *Service) invite(w http.ResponseWriter, r *http.Request, d store.Device) error {
	v := req.Of(r)
	code, err := newCode()
	if err != nil {
		return err
	}
	if d, err = s.DB.InviteDevice(r.Context(), v.Actor, d, store.HashToken(code), v.Now.Add(PairCodeLifetime),
		v.Now); err != nil {
		return err
	}
	s.Sessions.Put(r.Context(), keyPairDevice, string(d.ID))
	s.Sessions.Put(r.Context(), keyPairCode, code)
	http.Redirect(w, r, ui.SitePath(d.SiteID, "/tablets/")+string(d.ID), http.StatusSeeOther)
	return nil
}

// tabletAgain makes a code for a tablet whose address is gone, with the name and the
// last day it has. Its old pairing, which no tablet can use, ends.
func (s *Service) tabletAgain(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	d, _, err := s.deviceOf(r)
	if err != nil {
		return err
	}
	if !d.Usable(v.Now) {
		return logbook.Errorf(logbook.Conflict, "tablet.again_over", nil)
	}
	if err := s.DB.RevokeDevice(r.Context(), v.Actor, d.ID, v.Now); err != nil {
		return err
	}
	return s.invite(w, r, store.Device{SiteID: d.SiteID, Label: d.Label, ExpiresAt: d.ExpiresAt})
}

// deviceOf loads the tablet of the address.
func (s *Service) deviceOf(r *http.Request) (store.Device, logbook.Site, error) {
	site, err := s.SiteOf(r)
	if err != nil {
		return store.Device{}, site, err
	}
	d, err := s.DB.Device(r.Context(), req.URLID(r, "deviceID"))
	if err == nil && d.SiteID != site.ID {
		err = logbook.Missing("device")
	}
	return d, site, err
}

// tabletShow shows the code of a tablet while it waits, and tells when it has
// been paired.
func (s *Service) tabletShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	d, site, err := s.deviceOf(r)
	if err != nil {
		return err
	}
	path := ui.SitePath(site.ID, "/tablets")
	m := TabletCode{Page: s.NewPage(r, "tablet.code.title", "sites"), Site: site.Name, SiteHref: ui.SitePath(site.ID),
		ListHref: path}
	m.Title = m.T("tablet.code.title", logbook.Args{"Label": d.Label})
	m.Styles = []string{"tablet.css"}
	code := ""
	if s.Sessions.GetString(r.Context(), keyPairDevice) == string(d.ID) {
		code = s.Sessions.GetString(r.Context(), keyPairCode)
	}
	until := d.CreatedAt.Add(PairCodeLifetime)
	switch {
	case d.Usable(v.Now):
		m.State = m.T("tablet.code.paired")
	case code == "" || !until.After(v.Now) || !d.PairedAt.IsZero() || !d.RevokedAt.IsZero():
		m.State = m.T("tablet.code.over")
	default:
		m.Code, m.Until, m.Refresh = spacedCode(code), v.P.Clock(until, site.Location()), 15
		if err := s.pairingAddresses(r, &m, code); err != nil {
			return err
		}
	}
	return s.Render(w, r, http.StatusOK, TabletCodePage(m))
}

// pairingAddresses fills where the tablet goes: the address that was chosen, or
// the best one.
func (s *Service) pairingAddresses(r *http.Request, m *TabletCode, code string) error {
	reached := s.ReachedAt(r)
	if len(reached) == 0 {
		// On this computer alone it can still be tried out.
		m.Loopback = true
		reached = []string{r.Host}
	}
	chosen := reached[0]
	if at := r.URL.Query().Get("at"); slices.Contains(reached, at) {
		chosen = at
	}
	m.Address = s.BaseURL(r, chosen) + "/pair"
	for _, a := range reached {
		if a != chosen {
			m.Others = append(m.Others, ui.Option{Value: r.URL.Path + "?at=" + a, Label: s.BaseURL(r, a)})
		}
	}
	var err error
	m.QR, err = NewQR(m.Address + "/" + code)
	return err
}

func (s *Service) tabletWithdraw(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	d, site, err := s.deviceOf(r)
	if err != nil {
		return err
	}
	if err := s.DB.RevokeDevice(r.Context(), v.Actor, d.ID, v.Now); err != nil {
		return err
	}
	s.Log.Info("tablet withdrawn", "id", v.ID)
	s.SetNotice(r, v.P.T("tablet.withdrawn", logbook.Args{"Label": d.Label}))
	http.Redirect(w, r, ui.SitePath(site.ID, "/tablets"), http.StatusSeeOther)
	return nil
}

// allTablets lists the tablets of each school, for the page of all who may sign
// in.
func (s *Service) allTablets(r *http.Request, sites []logbook.Site) ([]SiteTablets, error) {
	v := req.Of(r)
	devices, err := s.DB.Devices(r.Context(), "")
	if err != nil {
		return nil, err
	}
	var out []SiteTablets
	for _, site := range sites {
		x := SiteTablets{Site: site.Name, Href: ui.SitePath(site.ID, "/tablets")}
		for i := range devices {
			if d := &devices[i]; d.SiteID == site.ID {
				x.Rows = append(x.Rows, tabletRow(v.P, d, site.Location(), v.Now))
			}
		}
		out = append(out, x)
	}
	return out, nil
}
