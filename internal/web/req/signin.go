package req

import (
	"errors"
	"net"
	"net/http"
	"net/url"

	"github.com/alexedwards/argon2id"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/ui"
)

// SignIn starts a fresh session for an actor.
func (s *Kernel) SignIn(w http.ResponseWriter, r *http.Request, a logbook.Actor, revision int64) error {
	ctx := r.Context()
	if err := s.Sessions.RenewToken(ctx); err != nil {
		return err
	}
	s.Sessions.Put(ctx, KeyAccount, string(a.AccountID))
	s.Sessions.Put(ctx, KeyRole, string(a.Role))
	s.Sessions.Put(ctx, KeySite, string(a.SiteID))
	s.Sessions.Put(ctx, KeyLabel, a.Label)
	s.Sessions.Put(ctx, keyRevision, revision)
	s.Sessions.Put(ctx, keySeen, s.Clock().Unix())
	Of(r).Actor = a
	s.Log.Info("signed in", "id", Of(r).ID, "role", a.Role)
	return s.KnowBrowser(w, r, a)
}

// askSignIn sends a person to the sign-in page. The body of a POST is kept for who
// signed in here before, so that nothing typed is lost.
func (s *Kernel) askSignIn(w http.ResponseWriter, r *http.Request) {
	next := r.URL.RequestURI()
	if r.Method == http.MethodPost {
		var err error
		if next, err = s.addPending(r); err != nil {
			s.Log.Error("keep entry", "id", Of(r).ID, "err", err)
		}
	}
	http.Redirect(w, r, "/sign-in?next="+url.QueryEscape(next), http.StatusSeeOther)
}

func (s *Kernel) SignInShow(w http.ResponseWriter, r *http.Request) error {
	if Of(r).Programme.ID == "" {
		http.Redirect(w, r, "/setup", http.StatusSeeOther)
		return nil
	}
	return s.renderSignIn(w, r, http.StatusOK, SafeNext(r.URL.Query().Get("next")), "", nil)
}

func (s *Kernel) renderSignIn(w http.ResponseWriter, r *http.Request, status int, next, account string,
	problems []logbook.Problem) error {
	v := Of(r)
	accounts, err := s.DB.Accounts(r.Context())
	if err != nil {
		return err
	}
	m := SignIn{Page: s.NewPage(r, "sign_in.title", ""), Next: next, Account: account, Demo: s.demoAllowed(r)}
	for _, a := range accounts {
		if !a.Disabled {
			m.Accounts = append(m.Accounts, ui.Option{Value: string(a.ID), Label: a.Label})
		}
	}
	if len(m.Accounts) == 1 && account == "" {
		m.Account = m.Accounts[0].Value
	}
	if m.Kept, err = s.PendingHere(r); err != nil {
		return err
	}
	m.Problems = form.ShowProblems(v.P, problems, func(f string) string { return v.P.T("sign_in." + f) })
	m.Error = len(problems) > 0
	return s.Render(w, r, status, SignInPage(m))
}

func (s *Kernel) SignInDo(w http.ResponseWriter, r *http.Request) error {
	v := Of(r)
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	id, next := logbook.ID(f.Text("account")), SafeNext(f.Text("next"))
	acc, err := s.DB.Account(r.Context(), id)
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
		return s.renderSignIn(w, r, http.StatusUnprocessableEntity, next, "",
			[]logbook.Problem{{Field: "account", Key: key}})
	}
	tries, err := s.triesKey(r, id)
	if err != nil {
		return err
	}
	if wait := s.Tries.Try(tries, v.Now); wait > 0 {
		seconds := int(wait.Seconds()) + 1
		return s.renderSignIn(w, r, http.StatusTooManyRequests, next, string(id),
			[]logbook.Problem{{Field: "passphrase", Key: "error.too_many", Args: logbook.Args{"Seconds": seconds}}})
	}
	store.Pause(r.Context())
	s.Hashing <- struct{}{} // each takes 19 MiB: a few at a time
	match, err := argon2id.ComparePasswordAndHash(f.Raw("passphrase"), acc.PassphraseHash)
	<-s.Hashing
	if err != nil {
		return err
	}
	if !match {
		s.Log.Warn("sign-in refused", "id", v.ID)
		return s.renderSignIn(w, r, http.StatusUnprocessableEntity, next, string(id),
			[]logbook.Problem{{Field: "passphrase", Key: "sign_in.wrong"}})
	}
	s.Tries.Passed(tries)
	if err := s.SignIn(w, r, acc.Actor(), acc.Revision); err != nil {
		return err
	}
	if next, err = s.AfterSignIn(r, next); err != nil {
		return err
	}
	http.Redirect(w, r, next, http.StatusSeeOther)
	return nil
}

func (s *Kernel) SignOut(w http.ResponseWriter, r *http.Request) error {
	if err := s.Sessions.Destroy(r.Context()); err != nil {
		return err
	}
	if s.TLS { // over plain http browsers refuse it, with an error on the console
		w.Header().Set("Clear-Site-Data", `"storage"`)
	}
	// On a paired tablet the class goes on.
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

// demoAllowed reports whether the three roles are offered at a click: only in
// a demonstration, and only to a browser on this machine.
func (s *Kernel) demoAllowed(r *http.Request) bool {
	if !s.Demo {
		return false
	}
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	ip := net.ParseIP(host)
	return err == nil && ip != nil && ip.IsLoopback()
}

func (s *Kernel) DemoSignIn(w http.ResponseWriter, r *http.Request) error {
	if !s.demoAllowed(r) {
		return logbook.Missing("page")
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	role := logbook.Role(f.Text("role"))
	if !role.Valid() {
		return logbook.Refuse([]logbook.Problem{{Field: "role", Key: "choice.unknown"}})
	}
	a := logbook.Actor{Role: role, Label: Of(r).P.T(role.MessageKey())}
	if role != logbook.Coordinator {
		sites, err := s.DB.Sites(r.Context())
		if err != nil {
			return err
		}
		if len(sites) == 0 {
			return errors.New("demo has no site")
		}
		a.SiteID = sites[0].ID
		a.Label += ", " + sites[0].Name
	}
	if err := s.SignIn(w, r, a, 0); err != nil {
		return err
	}
	next, err := s.AfterSignIn(r, SafeNext(f.Text("next")))
	if err != nil {
		return err
	}
	http.Redirect(w, r, next, http.StatusSeeOther)
	return nil
}
