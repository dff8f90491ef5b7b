package req

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/alexedwards/argon2id"
	"github.com/alexedwards/scs/v2"
	"github.com/alexedwards/scs/v2/memstore"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/form"
)

// Session times. Keepers and coordinators sign in again after a working day or
// two idle hours of the browser; a local choice for low-risk data.
const (
	sessionLifetime = 12 * time.Hour
	sessionIdle     = 2 * time.Hour
	sessionNote     = time.Minute
)

// Names of session values.
const (
	KeyAccount = "account" // id of an account; empty for demo roles
	KeyRole    = "role"
	KeySite    = "site"
	KeyLabel   = "label"
	KeyNotice  = "notice"
	// keyRevision is the account's revision at sign-in.
	keyRevision = "revision"
	// keySeen is when the session was used last, to sessionNote.
	keySeen = "seen"
)

// Cookies. The language is no secret and outlives the session.
const (
	CookieSession  = "reddside_session"
	CookieLanguage = "reddside_language"
	cookieUnit     = "reddside_unit"    // that a person reads temperatures in
	cookieKnown    = "reddside_known"   // tells who signed in here last; no right comes with it
	CookieDevice   = "reddside_device"  // the token of a paired tablet
	CookiePairing  = "reddside_pairing" // tells tablets that try codes apart
)

// PassphraseParams follow the OWASP password storage guidance (read): at least
// 19 MiB, two passes, one lane.
var PassphraseParams = &argon2id.Params{Memory: 19 * 1024, Iterations: 2, Parallelism: 1, SaltLength: 16, KeyLength: 32}

func (s *Kernel) newSessions() *scs.SessionManager {
	m := scs.New()
	m.Store = s.DB.Sessions(s.Clock)
	if s.DB.ReadOnly() {
		m.Store = memstore.New()
	}
	m.HashTokenInStore = true
	m.Lifetime = sessionLifetime // an IdleTimeout would store the session at every request
	m.Cookie.Name = CookieSession
	m.Cookie.HttpOnly, m.Cookie.SameSite, m.Cookie.Path = true, http.SameSiteLaxMode, "/"
	// A Secure cookie is dropped on plain http and would make sign-in loop.
	m.Cookie.Secure = s.TLS
	if s.TLS {
		m.Cookie.Name = "__Host-" + CookieSession
	}
	m.ErrorFunc = func(w http.ResponseWriter, r *http.Request, err error) { s.failAny(w, r, err) }
	return m
}

// Identify fills the visit with who asks, from a bearer token, the session or
// else the cookie of a paired tablet, and with the reader's language and unit.
func (s *Kernel) Identify(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		v := Of(r)
		var err error
		if v.Programme, err = s.DB.Programme(r.Context()); err != nil && logbook.KindOf(err) != logbook.NotFound {
			s.failAny(w, r, err)
			return
		}
		if token, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer "); ok {
			t, err := s.DB.TokenByHash(r.Context(), store.HashToken(token), v.Now)
			if err != nil {
				if logbook.KindOf(err) == logbook.NotFound {
					err = logbook.Errorf(logbook.Unauthenticated, "error.token", nil)
				}
				s.failAny(w, r, err)
				return
			}
			v.Actor, v.Bearer = t.Actor(), true
		} else if v.Actor, err = s.sessionActor(r.Context()); err == nil && !v.SignedIn() {
			err = s.identifyDevice(w, r, v)
		}
		if err != nil {
			s.failAny(w, r, err)
			return
		}
		v.P = s.printerFor(r, v)
		next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), sessionHere{}, true)))
	})
}

// sessionActor reads the actor of the session; an account that was disabled or
// given a new passphrase since is nobody.
func (s *Kernel) sessionActor(ctx context.Context) (logbook.Actor, error) {
	a := logbook.Actor{
		AccountID: logbook.ID(s.Sessions.GetString(ctx, KeyAccount)),
		Role:      logbook.Role(s.Sessions.GetString(ctx, KeyRole)),
		SiteID:    logbook.ID(s.Sessions.GetString(ctx, KeySite)),
		Label:     s.Sessions.GetString(ctx, KeyLabel),
	}
	if !a.Role.Valid() {
		return logbook.Actor{}, nil
	}
	if idle, err := s.idle(ctx); err != nil || idle {
		return logbook.Actor{}, err
	}
	if a.AccountID == "" {
		return a, nil
	}
	acc, err := s.DB.Account(ctx, a.AccountID)
	if logbook.KindOf(err) == logbook.NotFound ||
		(err == nil && (acc.Disabled || acc.Revision != s.Sessions.GetInt64(ctx, keyRevision))) {
		return logbook.Actor{}, nil
	}
	return a, err
}

// idle ends a session that was not used for too long, and notes now and then that
// one is used.
func (s *Kernel) idle(ctx context.Context) (bool, error) {
	now, seen := s.Clock(), s.Sessions.GetInt64(ctx, keySeen)
	switch unused := now.Sub(time.Unix(seen, 0)); {
	case seen != 0 && unused > sessionIdle:
		return true, s.Sessions.Destroy(ctx)
	case unused.Abs() >= sessionNote:
		s.Sessions.Put(ctx, keySeen, now.Unix())
	}
	return false, nil
}

// printerFor returns the printer of all that a person reads: one unit on every page,
// the one they chose, else that of their school's thermometers, else that of the
// programme.
func (s *Kernel) printerFor(r *http.Request, v *Info) *i18n.Printer {
	lang := ""
	if c, err := r.Cookie(CookieLanguage); err == nil {
		lang = c.Value
	}
	if lang == "" && v.Programme.ID != "" && r.Header.Get("Accept-Language") == "" {
		lang = v.Programme.Language
	}
	if lang == "" {
		lang = s.Cat.Match(r.Header.Get("Accept-Language"))
	}
	if c, err := r.Cookie(cookieUnit); err == nil && v.Actor.Role != logbook.Class {
		v.unit = units.TemperatureUnit(c.Value)
	}
	unit := UnitOr(v.unit, UnitOr(v.Programme.TemperatureUnit, units.Cel))
	if !v.unit.Valid() && v.Actor.SiteID != "" {
		if site, err := s.DB.Site(r.Context(), v.Actor.SiteID); err == nil {
			unit = UnitOr(site.TemperatureUnit, unit)
		}
	}
	return s.Cat.Printer(lang, unit)
}

// SetNotice leaves a short confirmation for the next page.
func (s *Kernel) SetNotice(r *http.Request, text string) {
	s.Sessions.Put(r.Context(), KeyNotice, text)
}

// sessionHere marks the context of a request inside the session middleware: outside
// of it, as where a panic is answered, asking scs for a value panics.
type sessionHere struct{}

func (s *Kernel) popNotice(r *http.Request, v *Info) string {
	if r.Context().Value(sessionHere{}) == nil || !v.SignedIn() || v.Bearer ||
		!s.Sessions.Exists(r.Context(), KeyNotice) {
		return ""
	}
	return s.Sessions.PopString(r.Context(), KeyNotice)
}

// SafeNext keeps a redirect inside this host.
func SafeNext(next string) string {
	u, err := url.Parse(next)
	if err != nil || u.IsAbs() || u.Host != "" || !strings.HasPrefix(next, "/") || strings.HasPrefix(next, "//") ||
		strings.Contains(next, "\\") {
		return "/"
	}
	return next
}

// UnitSet notes in which unit a person reads temperatures. Forms go on asking in
// the unit of the school's thermometer.
func (s *Kernel) UnitSet(w http.ResponseWriter, r *http.Request) error {
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	if u := units.TemperatureUnit(f.Text("unit")); u.Valid() {
		http.SetCookie(w, &http.Cookie{Name: cookieUnit, Value: string(u), Path: "/", MaxAge: 400 * 24 * 3600,
			HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.TLS})
	}
	http.Redirect(w, r, SafeNext(f.Text("back")), http.StatusSeeOther)
	return nil
}

// LanguageSet stores the reader's language and goes back to the page.
func (s *Kernel) LanguageSet(w http.ResponseWriter, r *http.Request) error {
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	lang := f.Text("language")
	for _, l := range s.Cat.Languages() {
		if l == lang {
			http.SetCookie(w, &http.Cookie{Name: CookieLanguage, Value: lang, Path: "/", MaxAge: 400 * 24 * 3600,
				HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.TLS})
		}
	}
	http.Redirect(w, r, SafeNext(f.Text("back")), http.StatusSeeOther)
	return nil
}
