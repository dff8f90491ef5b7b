package school

import (
	"crypto/rand"
	"net"
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

// pairRoutes are what a tablet opens to become one of a class.
func (s *Service) pairRoutes(r chi.Router) {
	r.Get("/pair", s.Page(s.pairShow))
	r.Get("/pair/{code}", s.Page(s.pairShow))
	r.Post("/pair", s.Page(s.pairDo))
}

// pairShow asks for the code, or shows the one of the address with a button. It
// does not tell whether the code fits: opening an address changes nothing and
// gives nothing away.
func (s *Service) pairShow(w http.ResponseWriter, r *http.Request) error {
	if req.Of(r).Programme.ID == "" {
		http.Redirect(w, r, "/setup", http.StatusSeeOther)
		return nil
	}
	s.knowPairing(w, r)
	f := form.NewForm()
	f.Set("code", chi.URLParam(r, "code"))
	return s.renderPair(w, r, http.StatusOK, f, chi.URLParam(r, "code") != "")
}

func (s *Service) renderPair(w http.ResponseWriter, r *http.Request, status int, f *form.Form, scanned bool) error {
	v := req.Of(r)
	m := PairPage{Page: s.NewPage(r, "pair.title", ""), Code: f.Raw("code"), Scanned: scanned,
		Error: len(f.Problems) > 0}
	m.Page.Error = m.Error
	m.Styles = []string{"tablet.css"}
	switch {
	case v.Device:
		m.Already = v.P.T("pair.already", logbook.Args{"Label": v.Actor.Label})
	case !v.SignedIn():
		if gone := s.Network.Gone(v.Now); len(gone) > 0 {
			m.Already = v.P.T("pair.moved", logbook.Args{"Address": s.BaseURL(r, gone[0])})
		}
	default:
		m.Already = v.P.T("pair.signed_in", logbook.Args{"Label": v.Actor.Label})
	}
	var err error
	if m.Kept, err = s.PendingHere(r); err != nil {
		return err
	}
	m.Problems = form.ShowProblems(v.P, f.Problems, func(string) string { return v.P.T("pair.code") })
	return s.Render(w, r, status, PairPageView(m))
}

// pairDo exchanges the code for the token of the tablet.
func (s *Service) pairDo(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	code, scanned := cleanCode(f.Text("code")), f.Text("scanned") != ""
	key, address := s.knowPairing(w, r), clientAddress(r)
	if len(code) != 8 {
		f.Fail("code", "pair.code.length", nil)
		return s.renderPair(w, r, http.StatusUnprocessableEntity, f, false)
	}
	wait := s.pairing.Try(address, v.Now)
	if wait == 0 && key != "" {
		wait = s.PairTries.Try(key, v.Now)
	}
	if wait > 0 {
		f.Fail("code", "error.too_many", logbook.Args{"Seconds": int(wait.Seconds()) + 1})
		return s.renderPair(w, r, http.StatusTooManyRequests, f, scanned)
	}
	token := rand.Text() // 130 bits
	d, err := s.DB.PairDevice(r.Context(), store.HashToken(code), store.HashToken(token), r.Host, v.Now)
	if logbook.KindOf(err) == logbook.NotFound {
		s.Log.Warn("pairing refused", "id", v.ID)
		f.Fail("code", "error.pair_code", nil)
		return s.renderPair(w, r, http.StatusUnprocessableEntity, f, false)
	}
	if err != nil {
		return err
	}
	s.pairing.passed(address)
	s.PairTries.Passed(key)
	return s.paired(w, r, d, token)
}

// paired hands the token out and begins as the tablet. Whoever was signed in in
// this browser is signed out, and a tablet that was paired before has only the
// new pairing.
func (s *Service) paired(w http.ResponseWriter, r *http.Request, d store.Device, token string) error {
	v := req.Of(r)
	if c, err := r.Cookie(s.DeviceCookie()); err == nil {
		if old, err := s.DB.DeviceByToken(r.Context(), store.HashToken(c.Value), v.Now); err == nil {
			if err := s.DB.RevokeDevice(r.Context(), old.Actor(), old.ID, v.Now); err != nil {
				return err
			}
		}
	}
	if err := s.Sessions.Destroy(r.Context()); err != nil {
		return err
	}
	http.SetCookie(w, &http.Cookie{Name: s.DeviceCookie(), Value: token, Path: "/", Expires: d.ExpiresAt,
		MaxAge: int(d.ExpiresAt.Sub(v.Now).Seconds()), HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.TLS})
	v.Actor, v.Device = d.Actor(), true
	s.Log.Info("tablet paired", "id", v.ID)
	if err := s.KnowBrowser(w, r, v.Actor); err != nil {
		return err
	}
	next, err := s.AfterSignIn(r, "/today")
	if err != nil {
		return err
	}
	s.SetNotice(r, v.P.T("pair.done", logbook.Args{"Label": d.Label}))
	http.Redirect(w, r, next, http.StatusSeeOther)
	return nil
}

// knowPairing gives a browser that pairs a cookie by which its tries are
// counted, and returns the key of its count; "" for a browser that came without.
func (s *Service) knowPairing(w http.ResponseWriter, r *http.Request) string {
	if c, err := r.Cookie(req.CookiePairing); err == nil && len(c.Value) == 26 {
		return "pair " + c.Value
	}
	http.SetCookie(w, &http.Cookie{Name: req.CookiePairing, Value: rand.Text(), Path: "/pair", MaxAge: 24 * 3600,
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.TLS})
	return ""
}

func clientAddress(r *http.Request) string {
	if host, _, err := net.SplitHostPort(r.RemoteAddr); err == nil {
		return host
	}
	return r.RemoteAddr
}
