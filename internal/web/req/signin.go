package req

import (
	"errors"
	"fmt"
	"hash/fnv"
	"net/http"
	"net/url"
	"strings"

	"github.com/alexedwards/argon2id"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
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

func (s *Kernel) renderSignIn(w http.ResponseWriter, r *http.Request, status int, next, name string,
	problems []logbook.Problem) error {
	v := Of(r)
	m := SignIn{Page: s.NewPage(r, "sign_in.title", ""), Next: next, Name: name, Demo: s.demoAllowed(r)}
	var err error
	if m.Name == "" {
		if m.Name, err = s.nameHere(r); err != nil {
			return err
		}
	}
	if m.Kept, err = s.PendingHere(r); err != nil {
		return err
	}
	m.Problems = form.ShowProblems(v.P, problems, func(f string) string { return v.P.T("sign_in." + f) })
	m.Error = len(problems) > 0
	return s.Render(w, r, status, SignInPage(m))
}

// nameHere is the name of who signed in last in this browser, "" in any other: to
// a stranger the page names nobody.
func (s *Kernel) nameHere(r *http.Request) (string, error) {
	owner, _, err := s.knownBrowser(r)
	if err != nil || owner == "" {
		return "", err
	}
	a, err := s.DB.Account(r.Context(), logbook.ID(owner))
	if logbook.KindOf(err) == logbook.NotFound || a.Disabled {
		return "", nil
	}
	return a.Label, err
}

// nobody is whose passphrase is tried where no account has the typed name, so that
// the answer takes as long.
const nobody = "$argon2id$v=19$m=19456,t=2,p=1$c29tZXNhbHQ5bm9ib2R5$" +
	"b2ZmZXJlZHRvZXZlcnlib2R5d2hvZ3Vlc3NlczAwMDA"

// unknownNames is into how many counts the wrong tries of unknown names fall. They
// have to wait as those of known ones do, and take no more memory than this.
const unknownNames = 4096

// longestName is more bytes than any account's name has.
const longestName = 400

// named returns the accounts that a typed name means, and whose wrong tries are
// counted together.
func (s *Kernel) named(r *http.Request, name string) (list []store.Account, tries string, err error) {
	all, err := s.DB.Accounts(r.Context())
	if err != nil {
		return nil, "", err
	}
	plain := func(x string) string { return strings.ToLower(strings.Join(strings.Fields(x), " ")) }
	for _, a := range all {
		if !a.Disabled && plain(a.Label) == plain(name) {
			list = append(list, a)
		}
	}
	if len(list) > 0 {
		tries, err = s.triesKey(r, list[0].ID)
		return list, tries, err
	}
	h := fnv.New32a()
	_, _ = h.Write([]byte(plain(name)))
	tries = fmt.Sprintf("unknown %d", h.Sum32()%unknownNames)
	if len(name) > longestName { // nobody can have it: there is nothing to hide
		return nil, tries, nil
	}
	return []store.Account{{PassphraseHash: nobody}}, tries, nil
}

func (s *Kernel) SignInDo(w http.ResponseWriter, r *http.Request) error {
	v := Of(r)
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	name, next := f.Text("account"), SafeNext(f.Text("next"))
	if name == "" {
		return s.renderSignIn(w, r, http.StatusUnprocessableEntity, next, "",
			[]logbook.Problem{{Field: "account", Key: "name.empty"}})
	}
	list, tries, err := s.named(r, name)
	if err != nil {
		return err
	}
	if wait := s.Tries.Try(tries, v.Now); wait > 0 {
		seconds := int(wait.Seconds()) + 1
		return s.renderSignIn(w, r, http.StatusTooManyRequests, next, name,
			[]logbook.Problem{{Field: "passphrase", Key: "error.too_many", Args: logbook.Args{"Seconds": seconds}}})
	}
	store.Pause(r.Context())
	var acc *store.Account
	for i := range list {
		s.Hashing <- struct{}{} // each takes 19 MiB: a few at a time
		match, err := argon2id.ComparePasswordAndHash(f.Raw("passphrase"), list[i].PassphraseHash)
		<-s.Hashing
		if err != nil {
			return err
		}
		if match && list[i].ID != "" {
			acc = &list[i]
			break
		}
	}
	if acc == nil {
		s.Log.Warn("sign-in refused", "id", v.ID)
		return s.renderSignIn(w, r, http.StatusUnprocessableEntity, next, name,
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
	return s.Demo && AtThisComputer(r)
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
