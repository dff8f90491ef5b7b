package web

import (
	"net/http"

	"github.com/alexedwards/argon2id"
	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

// coordinatorRoutes are accounts, new schools, and what else only a coordinator
// may do.
func (s *Server) coordinatorRoutes(r chi.Router) {
	r.Get("/sites/new", s.page(s.siteNew))
	r.Post("/sites", s.page(s.siteCreate))
	r.Get("/people", s.page(s.peopleList))
	r.Get("/people/new", s.page(s.personNew))
	r.Post("/people", s.page(s.personCreate))
	r.Get("/people/{accountID}/passphrase", s.page(s.passphraseEdit))
	r.Post("/people/{accountID}/passphrase", s.page(s.passphraseUpdate))
	r.Post("/people/{accountID}/disable", s.page(s.personDisable))
}

func (s *Server) siteNew(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	return s.siteNewForm(w, r, siteForm(logbook.Site{Zone: localZone(), Language: v.programme.Language, TemperatureUnit: v.programme.TemperatureUnit}))
}

func (s *Server) siteNewForm(w http.ResponseWriter, r *http.Request, f *form) error {
	b := s.siteItems(visitOf(r).p, f)
	return s.showForm(w, r, s.formPage(r, b, "new", "sites", "/sites", "/sites"), b, f.problems)
}

func (s *Server) siteCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	f, err := readForm(r)
	if err != nil {
		return err
	}
	site := readSite(f, logbook.Site{})
	if len(f.problems) > 0 {
		return s.siteNewForm(w, r, f)
	}
	site, err = s.db.CreateSite(r.Context(), v.actor, site, v.now, store.Once{})
	if err != nil {
		return err
	}
	return s.saved(w, r, "/sites/"+string(site.ID))
}

func (s *Server) peopleList(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	accounts, err := s.db.Accounts(r.Context())
	if err != nil {
		return err
	}
	sites, err := s.db.Sites(r.Context())
	if err != nil {
		return err
	}
	names := map[logbook.ID]string{}
	for _, site := range sites {
		names[site.ID] = site.Name
	}
	m := view.People{Page: s.newPage(r, "people.list", "people")}
	for _, a := range accounts {
		m.Rows = append(m.Rows, view.Person{ID: string(a.ID), Label: a.Label, Role: v.p.T(a.Role.MessageKey()), Site: names[a.SiteID],
			Disabled: a.Disabled, Self: a.ID == v.actor.AccountID})
	}
	if m.Tablets, err = s.allTablets(r, sites); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, view.PeoplePage(m))
}

func (s *Server) personNew(w http.ResponseWriter, r *http.Request) error {
	return s.personNewForm(w, r, newForm())
}

func (s *Server) personNewForm(w http.ResponseWriter, r *http.Request, f *form) error {
	p := visitOf(r).p
	sites, err := s.db.Sites(r.Context())
	if err != nil {
		return err
	}
	var options []view.Option
	for _, site := range sites {
		options = append(options, view.Option{Value: string(site.ID), Label: site.Name})
	}
	b := formItems(s.cat, p, "people")
	b.tiles("role", f.raw("role"), keyedOptions(p, []logbook.Role{logbook.Keeper, logbook.Coordinator}))
	b.pick("site", f.raw("site"), options)
	b.text("label", f.raw("label"))
	b.secret("passphrase")
	b.secret("again")
	return s.showForm(w, r, s.formPage(r, b, "new", "people", "/people", "/people"), b, f.problems)
}

func (s *Server) personCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	f, err := readForm(r)
	if err != nil {
		return err
	}
	a := store.Account{Role: logbook.Role(f.text("role")), Label: f.text("label")}
	switch a.Role {
	case logbook.Keeper:
		a.SiteID = logbook.ID(f.text("site"))
		if _, err := s.db.Site(r.Context(), a.SiteID); err != nil {
			f.fail("site", "choice.empty", nil)
		}
	case logbook.Coordinator:
	default:
		f.fail("role", "choice.empty", nil)
	}
	f.add(logbook.ValidateLabel("label", a.Label))
	pass := readPassphrase(f)
	if len(f.problems) > 0 {
		return s.personNewForm(w, r, f)
	}
	if a.PassphraseHash, err = argon2id.CreateHash(pass, passphraseParams); err != nil {
		return err
	}
	if _, err := s.db.CreateAccount(r.Context(), a, v.now); err != nil {
		return err
	}
	s.log.Info("account made", "id", v.id, "role", a.Role)
	return s.saved(w, r, "/people")
}

func (s *Server) passphraseEdit(w http.ResponseWriter, r *http.Request) error {
	return s.passphraseForm(w, r, newForm())
}

func (s *Server) passphraseForm(w http.ResponseWriter, r *http.Request, f *form) error {
	a, err := s.db.Account(r.Context(), logbook.ID(chi.URLParam(r, "accountID")))
	if err != nil {
		return err
	}
	b := formItems(s.cat, visitOf(r).p, "people")
	b.secret("passphrase")
	b.secret("again")
	v := s.formPage(r, b, "passphrase_of", "people", "/people/"+string(a.ID)+"/passphrase", "/people")
	v.Title = b.p.T("people.passphrase_of", logbook.Args{"Label": a.Label})
	return s.showForm(w, r, v, b, f.problems)
}

func (s *Server) passphraseUpdate(w http.ResponseWriter, r *http.Request) error {
	f, err := readForm(r)
	if err != nil {
		return err
	}
	pass := readPassphrase(f)
	if len(f.problems) > 0 {
		return s.passphraseForm(w, r, f)
	}
	hash, err := argon2id.CreateHash(pass, passphraseParams)
	if err != nil {
		return err
	}
	if err := s.db.SetPassphrase(r.Context(), logbook.ID(chi.URLParam(r, "accountID")), hash); err != nil {
		return err
	}
	return s.saved(w, r, "/people")
}

func (s *Server) personDisable(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	f, err := readForm(r)
	if err != nil {
		return err
	}
	id := logbook.ID(chi.URLParam(r, "accountID"))
	if id == v.actor.AccountID {
		// A coordinator who locks himself out could lock out everybody.
		return logbook.Errorf(logbook.Conflict, "people.not_self", nil)
	}
	if err := s.db.DisableAccount(r.Context(), id, f.text("disabled") == "yes"); err != nil {
		return err
	}
	return s.saved(w, r, "/people")
}
