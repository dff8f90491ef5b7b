package web

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/alexedwards/argon2id"
	"github.com/alexedwards/scs/v2"
	"github.com/alexedwards/scs/v2/memstore"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/view"
)

// Session times. Keepers and coordinators sign in again after a working day or
// two idle hours of the browser; a local choice for low-risk data.
const (
	sessionLifetime = 12 * time.Hour
	sessionIdle     = 2 * time.Hour
)

// Names of session values.
const (
	keyAccount = "account" // id of an account; empty for demo roles
	keyRole    = "role"
	keySite    = "site"
	keyLabel   = "label"
	keyNotice  = "notice"
	// keyRevision is the account's revision at sign-in.
	keyRevision = "revision"
)

// Cookies. The language is no secret and outlives the session.
const (
	cookieSession  = "reddside_session"
	cookieLanguage = "reddside_language"
	cookieUnit     = "reddside_unit"    // that a person reads temperatures in
	cookieKnown    = "reddside_known"   // tells who signed in here last; no right comes with it
	cookieDevice   = "reddside_device"  // the token of a paired tablet
	cookiePairing  = "reddside_pairing" // tells tablets that try codes apart
)

// passphraseParams follow the OWASP password storage guidance (read): at least
// 19 MiB, two passes, one lane.
var passphraseParams = &argon2id.Params{Memory: 19 * 1024, Iterations: 2, Parallelism: 1, SaltLength: 16, KeyLength: 32}

func (s *Server) newSessions() *scs.SessionManager {
	m := scs.New()
	m.Store = s.db.Sessions(s.clock)
	if s.db.ReadOnly() {
		m.Store = memstore.New()
	}
	m.HashTokenInStore = true
	m.Lifetime, m.IdleTimeout = sessionLifetime, sessionIdle
	m.Cookie.Name = cookieSession
	m.Cookie.HttpOnly, m.Cookie.SameSite, m.Cookie.Path = true, http.SameSiteLaxMode, "/"
	// A Secure cookie is dropped on plain http and would make sign-in loop.
	m.Cookie.Secure = s.tls
	if s.tls {
		m.Cookie.Name = "__Host-" + cookieSession
	}
	m.ErrorFunc = func(w http.ResponseWriter, r *http.Request, err error) { s.failAny(w, r, err) }
	return m
}

// identify fills the visit with who asks, from a bearer token, the session or
// else the cookie of a paired tablet, and with the reader's language and unit.
func (s *Server) identify(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		v := visitOf(r)
		var err error
		if v.programme, err = s.db.Programme(r.Context()); err != nil && logbook.KindOf(err) != logbook.NotFound {
			s.failAny(w, r, err)
			return
		}
		if token, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer "); ok {
			t, err := s.db.TokenByHash(r.Context(), secretHash(token), v.now)
			if err != nil {
				if logbook.KindOf(err) == logbook.NotFound {
					err = logbook.Errorf(logbook.Unauthenticated, "error.token", nil)
				}
				s.failAny(w, r, err)
				return
			}
			v.actor, v.bearer = t.Actor(), true
		} else if v.actor, err = s.sessionActor(r.Context()); err == nil && !v.signedIn() {
			err = s.identifyDevice(r, v)
		}
		if err != nil {
			s.failAny(w, r, err)
			return
		}
		v.p = s.printerFor(r, v)
		next.ServeHTTP(w, r)
	})
}

// sessionActor reads the actor of the session; an account that was disabled or
// given a new passphrase since is nobody.
func (s *Server) sessionActor(ctx context.Context) (logbook.Actor, error) {
	a := logbook.Actor{
		AccountID: logbook.ID(s.sessions.GetString(ctx, keyAccount)),
		Role:      logbook.Role(s.sessions.GetString(ctx, keyRole)),
		SiteID:    logbook.ID(s.sessions.GetString(ctx, keySite)),
		Label:     s.sessions.GetString(ctx, keyLabel),
	}
	if !a.Role.Valid() {
		return logbook.Actor{}, nil
	}
	if a.AccountID == "" {
		return a, nil
	}
	acc, err := s.db.Account(ctx, a.AccountID)
	if logbook.KindOf(err) == logbook.NotFound || (err == nil && (acc.Disabled || acc.Revision != s.sessions.GetInt64(ctx, keyRevision))) {
		return logbook.Actor{}, nil
	}
	return a, err
}

func (s *Server) printerFor(r *http.Request, v *visit) *i18n.Printer {
	lang := ""
	if c, err := r.Cookie(cookieLanguage); err == nil {
		lang = c.Value
	}
	if lang == "" && v.programme.ID != "" && r.Header.Get("Accept-Language") == "" {
		lang = v.programme.Language
	}
	if lang == "" {
		lang = s.cat.Match(r.Header.Get("Accept-Language"))
	}
	if c, err := r.Cookie(cookieUnit); err == nil && v.actor.Role != logbook.Class {
		v.unit = units.TemperatureUnit(c.Value)
	}
	return s.cat.Printer(lang, unitOr(v.unit, unitOr(v.programme.TemperatureUnit, units.Cel)))
}

// secretHash is how secrets of programs and tablets are stored: they are long
// and random, so that a fast hash is enough.
func secretHash(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

// signIn starts a fresh session for an actor.
func (s *Server) signIn(w http.ResponseWriter, r *http.Request, a logbook.Actor, revision int64) error {
	ctx := r.Context()
	if err := s.sessions.RenewToken(ctx); err != nil {
		return err
	}
	s.sessions.Put(ctx, keyAccount, string(a.AccountID))
	s.sessions.Put(ctx, keyRole, string(a.Role))
	s.sessions.Put(ctx, keySite, string(a.SiteID))
	s.sessions.Put(ctx, keyLabel, a.Label)
	s.sessions.Put(ctx, keyRevision, revision)
	visitOf(r).actor = a
	s.log.Info("signed in", "id", visitOf(r).id, "role", a.Role)
	return s.knowBrowser(w, r, a)
}

// setNotice leaves a short confirmation for the next page.
func (s *Server) setNotice(r *http.Request, text string) {
	s.sessions.Put(r.Context(), keyNotice, text)
}

func (s *Server) popNotice(r *http.Request, v *visit) string {
	if !v.signedIn() || v.bearer || isAPI(r) || !s.sessions.Exists(r.Context(), keyNotice) {
		return ""
	}
	return s.sessions.PopString(r.Context(), keyNotice)
}

// safeNext keeps a redirect inside this host.
func safeNext(next string) string {
	u, err := url.Parse(next)
	if err != nil || u.IsAbs() || u.Host != "" || !strings.HasPrefix(next, "/") || strings.HasPrefix(next, "//") || strings.Contains(next, "\\") {
		return "/"
	}
	return next
}

// askSignIn sends a person to the sign-in page. The body of a POST is kept for who
// signed in here before, so that nothing typed is lost.
func (s *Server) askSignIn(w http.ResponseWriter, r *http.Request) {
	next := r.URL.RequestURI()
	if r.Method == http.MethodPost {
		var err error
		if next, err = s.keepPost(r); err != nil {
			s.log.Error("keep entry", "id", visitOf(r).id, "err", err)
		}
	}
	http.Redirect(w, r, "/sign-in?next="+url.QueryEscape(next), http.StatusSeeOther)
}

func (s *Server) signInShow(w http.ResponseWriter, r *http.Request) error {
	if visitOf(r).programme.ID == "" {
		http.Redirect(w, r, "/setup", http.StatusSeeOther)
		return nil
	}
	return s.renderSignIn(w, r, http.StatusOK, safeNext(r.URL.Query().Get("next")), "", nil)
}

func (s *Server) renderSignIn(w http.ResponseWriter, r *http.Request, status int, next, account string, problems []logbook.Problem) error {
	v := visitOf(r)
	accounts, err := s.db.Accounts(r.Context())
	if err != nil {
		return err
	}
	m := view.SignIn{Page: s.newPage(r, "sign_in.title", ""), Next: next, Account: account, Demo: s.demoAllowed(r)}
	for _, a := range accounts {
		if !a.Disabled {
			m.Accounts = append(m.Accounts, view.Option{Value: string(a.ID), Label: a.Label})
		}
	}
	if len(m.Accounts) == 1 && account == "" {
		m.Account = m.Accounts[0].Value
	}
	if m.Kept, err = s.keptHere(r); err != nil {
		return err
	}
	m.Problems = showProblems(v.p, problems, func(f string) string { return v.p.T("sign_in." + f) })
	m.Error = len(problems) > 0
	return s.render(w, r, status, view.SignInPage(m))
}

func (s *Server) signInDo(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	f, err := readForm(r)
	if err != nil {
		return err
	}
	id, next := logbook.ID(f.text("account")), safeNext(f.text("next"))
	acc, err := s.db.Account(r.Context(), id)
	if err != nil && logbook.KindOf(err) != logbook.NotFound {
		return err
	}
	if err != nil || acc.Disabled {
		// Nothing of an account that is not there is counted or kept: the page lists
		// those that are.
		key := "choice.unknown"
		if id == "" {
			key = "choice.empty"
		}
		return s.renderSignIn(w, r, http.StatusUnprocessableEntity, next, "", []logbook.Problem{{Field: "account", Key: key}})
	}
	tries, err := s.triesKey(r, id)
	if err != nil {
		return err
	}
	if wait := s.tries.try(tries, v.now); wait > 0 {
		seconds := int(wait.Seconds()) + 1
		return s.renderSignIn(w, r, http.StatusTooManyRequests, next, string(id),
			[]logbook.Problem{{Field: "passphrase", Key: "error.too_many", Args: logbook.Args{"Seconds": seconds}}})
	}
	s.hashing <- struct{}{} // each takes 19 MiB: a few at a time
	match, err := argon2id.ComparePasswordAndHash(f.raw("passphrase"), acc.PassphraseHash)
	<-s.hashing
	if err != nil {
		return err
	}
	if !match {
		s.log.Warn("sign-in refused", "id", v.id)
		return s.renderSignIn(w, r, http.StatusUnprocessableEntity, next, string(id),
			[]logbook.Problem{{Field: "passphrase", Key: "sign_in.wrong"}})
	}
	s.tries.passed(tries)
	if err := s.signIn(w, r, acc.Actor(), acc.Revision); err != nil {
		return err
	}
	if next, err = s.afterSignIn(r, next); err != nil {
		return err
	}
	http.Redirect(w, r, next, http.StatusSeeOther)
	return nil
}

func (s *Server) signOut(w http.ResponseWriter, r *http.Request) error {
	if err := s.sessions.Destroy(r.Context()); err != nil {
		return err
	}
	if s.tls { // over plain http browsers refuse it, with an error on the console
		w.Header().Set("Clear-Site-Data", `"storage"`)
	}
	// On a paired tablet the class goes on.
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

// demoAllowed reports whether the three roles are offered at a click: only in
// a demonstration, and only to a browser on this machine.
func (s *Server) demoAllowed(r *http.Request) bool {
	if !s.demo {
		return false
	}
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	ip := net.ParseIP(host)
	return err == nil && ip != nil && ip.IsLoopback()
}

func (s *Server) demoSignIn(w http.ResponseWriter, r *http.Request) error {
	if !s.demoAllowed(r) {
		return logbook.Missing("page")
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	role := logbook.Role(f.text("role"))
	if !role.Valid() {
		return logbook.Refuse([]logbook.Problem{{Field: "role", Key: "choice.unknown"}})
	}
	a := logbook.Actor{Role: role, Label: visitOf(r).p.T(role.MessageKey())}
	if role != logbook.Coordinator {
		sites, err := s.db.Sites(r.Context())
		if err != nil {
			return err
		}
		if len(sites) == 0 {
			return errors.New("demo has no site")
		}
		a.SiteID = sites[0].ID
		a.Label += ", " + sites[0].Name
	}
	if err := s.signIn(w, r, a, 0); err != nil {
		return err
	}
	next, err := s.afterSignIn(r, safeNext(f.text("next")))
	if err != nil {
		return err
	}
	http.Redirect(w, r, next, http.StatusSeeOther)
	return nil
}

// unitSet notes in which unit a person reads temperatures. Forms go on asking in
// the unit of the school's thermometer.
func (s *Server) unitSet(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	if u := units.TemperatureUnit(f.text("unit")); u.Valid() {
		http.SetCookie(w, &http.Cookie{Name: cookieUnit, Value: string(u), Path: "/", MaxAge: 400 * 24 * 3600,
			HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.tls})
	}
	http.Redirect(w, r, safeNext(f.text("back")), http.StatusSeeOther)
	return nil
}

// languageSet stores the reader's language and goes back to the page.
func (s *Server) languageSet(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	lang := f.text("language")
	for _, l := range s.cat.Languages() {
		if l == lang {
			http.SetCookie(w, &http.Cookie{Name: cookieLanguage, Value: lang, Path: "/", MaxAge: 400 * 24 * 3600,
				HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.tls})
		}
	}
	http.Redirect(w, r, safeNext(f.text("back")), http.StatusSeeOther)
	return nil
}
