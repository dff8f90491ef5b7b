package web

import (
	"crypto/rand"
	"net"
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

// entryNoteEvery is how exactly it is noted when a tablet last sent something.
const entryNoteEvery = 5 * time.Minute

// pairRoutes are what a tablet opens to become one of a class.
func (s *Server) pairRoutes(r chi.Router) {
	r.Get("/pair", s.page(s.pairShow))
	r.Get("/pair/{code}", s.page(s.pairShow))
	r.Post("/pair", s.page(s.pairDo))
}

func (s *Server) deviceCookie() string {
	if s.tls {
		return "__Host-" + cookieDevice
	}
	return cookieDevice
}

// identifyDevice makes the paired tablet whose cookie came along the actor.
func (s *Server) identifyDevice(r *http.Request, v *visit) error {
	c, err := r.Cookie(s.deviceCookie())
	if err != nil || c.Value == "" {
		return nil
	}
	d, err := s.db.DeviceByToken(r.Context(), secretHash(c.Value), v.now)
	if logbook.KindOf(err) == logbook.NotFound {
		return nil // withdrawn or ended: nobody
	}
	if err != nil {
		return err
	}
	v.actor, v.device = d.Actor(), true
	if r.Method == http.MethodPost && v.now.Sub(d.LastEntryAt) > entryNoteEvery {
		if err := s.db.DeviceEntered(r.Context(), d.ID, v.now); err != nil {
			s.log.Error("note entry of tablet", "id", v.id, "err", err) // it only informs
		}
	}
	return nil
}

// pairShow asks for the code, or shows the one of the address with a button. It
// does not tell whether the code fits: opening an address changes nothing and
// gives nothing away.
func (s *Server) pairShow(w http.ResponseWriter, r *http.Request) error {
	if visitOf(r).programme.ID == "" {
		http.Redirect(w, r, "/setup", http.StatusSeeOther)
		return nil
	}
	s.knowPairing(w, r)
	f := newForm()
	f.set("code", chi.URLParam(r, "code"))
	return s.renderPair(w, r, http.StatusOK, f, chi.URLParam(r, "code") != "")
}

func (s *Server) renderPair(w http.ResponseWriter, r *http.Request, status int, f *form, scanned bool) error {
	v := visitOf(r)
	m := view.PairPage{Page: s.newPage(r, "pair.title", ""), Code: f.raw("code"), Scanned: scanned, Error: len(f.problems) > 0}
	m.Page.Error = m.Error
	m.Styles = []string{"tablet.css"}
	switch {
	case v.device:
		m.Already = v.p.T("pair.already", logbook.Args{"Label": v.actor.Label})
	case v.signedIn():
		m.Already = v.p.T("pair.signed_in", logbook.Args{"Label": v.actor.Label})
	}
	var err error
	if m.Kept, err = s.keptHere(r); err != nil {
		return err
	}
	m.Problems = showProblems(v.p, f.problems, func(string) string { return v.p.T("pair.code") })
	return s.render(w, r, status, view.PairPageView(m))
}

// pairDo exchanges the code for the token of the tablet.
func (s *Server) pairDo(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	f, err := readForm(r)
	if err != nil {
		return err
	}
	code, scanned := cleanCode(f.text("code")), f.text("scanned") != ""
	key, address := s.knowPairing(w, r), clientAddress(r)
	if len(code) != 8 {
		f.fail("code", "pair.code.length", nil)
		return s.renderPair(w, r, http.StatusUnprocessableEntity, f, false)
	}
	wait := s.pairing.try(address, v.now)
	if wait == 0 && key != "" {
		wait = s.pairTries.try(key, v.now)
	}
	if wait > 0 {
		f.fail("code", "error.too_many", logbook.Args{"Seconds": int(wait.Seconds()) + 1})
		return s.renderPair(w, r, http.StatusTooManyRequests, f, scanned)
	}
	token := rand.Text() // 130 bits
	d, err := s.db.PairDevice(r.Context(), secretHash(code), secretHash(token), r.Host, v.now)
	if logbook.KindOf(err) == logbook.NotFound {
		s.log.Warn("pairing refused", "id", v.id)
		f.fail("code", "error.pair_code", nil)
		return s.renderPair(w, r, http.StatusUnprocessableEntity, f, false)
	}
	if err != nil {
		return err
	}
	s.pairing.passed(address)
	s.pairTries.passed(key)
	return s.paired(w, r, d, token)
}

// paired hands the token out and begins as the tablet. Whoever was signed in in
// this browser is signed out, and a tablet that was paired before has only the
// new pairing.
func (s *Server) paired(w http.ResponseWriter, r *http.Request, d store.Device, token string) error {
	v := visitOf(r)
	if c, err := r.Cookie(s.deviceCookie()); err == nil {
		if old, err := s.db.DeviceByToken(r.Context(), secretHash(c.Value), v.now); err == nil {
			if err := s.db.RevokeDevice(r.Context(), old.Actor(), old.ID, v.now); err != nil {
				return err
			}
		}
	}
	if err := s.sessions.Destroy(r.Context()); err != nil {
		return err
	}
	http.SetCookie(w, &http.Cookie{Name: s.deviceCookie(), Value: token, Path: "/", Expires: d.ExpiresAt,
		MaxAge: int(d.ExpiresAt.Sub(v.now).Seconds()), HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.tls})
	v.actor, v.device = d.Actor(), true
	s.log.Info("tablet paired", "id", v.id)
	if err := s.knowBrowser(w, r, v.actor); err != nil {
		return err
	}
	next, err := s.afterSignIn(r, "/today")
	if err != nil {
		return err
	}
	s.setNotice(r, v.p.T("pair.done", logbook.Args{"Label": d.Label}))
	http.Redirect(w, r, next, http.StatusSeeOther)
	return nil
}

// knowPairing gives a browser that pairs a cookie by which its tries are
// counted, and returns the key of its count; "" for a browser that came without.
func (s *Server) knowPairing(w http.ResponseWriter, r *http.Request) string {
	if c, err := r.Cookie(cookiePairing); err == nil && len(c.Value) == 26 {
		return "pair " + c.Value
	}
	http.SetCookie(w, &http.Cookie{Name: cookiePairing, Value: rand.Text(), Path: "/pair", MaxAge: 24 * 3600,
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.tls})
	return ""
}

func clientAddress(r *http.Request) string {
	if host, _, err := net.SplitHostPort(r.RemoteAddr); err == nil {
		return host
	}
	return r.RemoteAddr
}
