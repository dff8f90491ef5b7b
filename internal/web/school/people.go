package school

import (
	"net/http"

	"github.com/alexedwards/argon2id"
	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// coordinatorRoutes are accounts, new schools, and what else only a coordinator
// may do.
func (s *Service) coordinatorRoutes(r chi.Router) {
	r.Get("/sites/new", s.Page(s.siteNew))
	r.Post("/sites", s.Page(s.siteCreate))
	r.Get("/people", s.Page(s.peopleList))
	r.Get("/people/new", s.Page(s.personNew))
	r.Post("/people", s.Page(s.personCreate))
	r.Get("/people/{accountID}/passphrase", s.Page(s.passphraseEdit))
	r.Post("/people/{accountID}/passphrase", s.Page(s.passphraseUpdate))
	r.Post("/people/{accountID}/disable", s.Page(s.personDisable))
}

func (s *Service) siteNew(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	return s.siteNewForm(w, r, siteForm(logbook.Site{Zone: localZone(), Language: v.Programme.Language,
		TemperatureUnit: v.Programme.TemperatureUnit}))
}

func (s *Service) siteNewForm(w http.ResponseWriter, r *http.Request, f *form.Form) error {
	b := s.siteItems(req.Of(r).P, f)
	return s.ShowForm(w, r, s.FormPage(r, b, "new", "sites", "/sites", "/sites"), b, f.Problems)
}

func (s *Service) siteCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	site := readSite(f, logbook.Site{})
	if len(f.Problems) > 0 {
		return s.siteNewForm(w, r, f)
	}
	site, err = s.DB.CreateSite(r.Context(), v.Actor, site, v.Now, store.IdempotencyKey{})
	if err != nil {
		return err
	}
	return s.Saved(w, r, ui.SitePath(site.ID))
}

func (s *Service) peopleList(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	accounts, err := s.DB.Accounts(r.Context())
	if err != nil {
		return err
	}
	sites, err := s.DB.Sites(r.Context())
	if err != nil {
		return err
	}
	names := map[logbook.ID]string{}
	for _, site := range sites {
		names[site.ID] = site.Name
	}
	m := People{Page: s.NewPage(r, "people.list", "people")}
	for _, a := range accounts {
		m.Rows = append(m.Rows, Person{ID: string(a.ID), Label: a.Label, Role: v.P.T(a.Role.MessageKey()),
			Site:     names[a.SiteID],
			Disabled: a.Disabled, Self: a.ID == v.Actor.AccountID})
	}
	if m.Tablets, err = s.allTablets(r, sites); err != nil {
		return err
	}
	return s.Render(w, r, http.StatusOK, PeoplePage(m))
}

func (s *Service) personNew(w http.ResponseWriter, r *http.Request) error {
	f := form.NewForm()
	if site := r.URL.Query().Get("site"); site != "" {
		f.Set("role", string(logbook.Keeper))
		f.Set("site", site)
	}
	return s.personNewForm(w, r, f)
}

func (s *Service) personNewForm(w http.ResponseWriter, r *http.Request, f *form.Form) error {
	p := req.Of(r).P
	sites, err := s.DB.Sites(r.Context())
	if err != nil {
		return err
	}
	var options []ui.Option
	for _, site := range sites {
		options = append(options, ui.Option{Value: string(site.ID), Label: site.Name})
	}
	b := form.FormItems(s.Cat, p, "people")
	b.Tiles("role", f.Raw("role"), words.KeyedOptions(p, []logbook.Role{logbook.Keeper, logbook.Coordinator}))
	b.Pick("site", f.Raw("site"), options)
	b.Text("label", f.Raw("label"))
	b.Secret("passphrase")
	b.Secret("again")
	return s.ShowForm(w, r, s.FormPage(r, b, "new", "people", "/people", "/people"), b, f.Problems)
}

func (s *Service) personCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	a := store.Account{Role: logbook.Role(f.Text("role")), Label: f.Text("label")}
	switch a.Role {
	case logbook.Keeper:
		a.SiteID = logbook.ID(f.Text("site"))
		if _, err := s.DB.Site(r.Context(), a.SiteID); err != nil {
			f.Fail("site", "choice.empty", nil)
		}
	case logbook.Coordinator:
	default:
		f.Fail("role", "choice.empty", nil)
	}
	f.Add(logbook.ValidateLabel("label", a.Label))
	pass := readPassphrase(f)
	if len(f.Problems) > 0 {
		return s.personNewForm(w, r, f)
	}
	if a.PassphraseHash, err = argon2id.CreateHash(pass, req.PassphraseParams); err != nil {
		return err
	}
	if _, err := s.DB.CreateAccount(r.Context(), a, v.Now); err != nil {
		return err
	}
	s.Log.Info("account made", "id", v.ID, "role", a.Role)
	return s.Saved(w, r, "/people")
}

func (s *Service) passphraseEdit(w http.ResponseWriter, r *http.Request) error {
	return s.passphraseForm(w, r, form.NewForm())
}

func (s *Service) passphraseForm(w http.ResponseWriter, r *http.Request, f *form.Form) error {
	a, err := s.DB.Account(r.Context(), logbook.ID(chi.URLParam(r, "accountID")))
	if err != nil {
		return err
	}
	b := form.FormItems(s.Cat, req.Of(r).P, "people")
	b.Secret("passphrase")
	b.Secret("again")
	v := s.FormPage(r, b, "passphrase_of", "people", ui.PersonPath(a.ID, "/passphrase"), "/people")
	v.Title = b.P.T("people.passphrase_of", logbook.Args{"Label": a.Label})
	return s.ShowForm(w, r, v, b, f.Problems)
}

func (s *Service) passphraseUpdate(w http.ResponseWriter, r *http.Request) error {
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	pass := readPassphrase(f)
	if len(f.Problems) > 0 {
		return s.passphraseForm(w, r, f)
	}
	hash, err := argon2id.CreateHash(pass, req.PassphraseParams)
	if err != nil {
		return err
	}
	if err := s.DB.SetPassphrase(r.Context(), logbook.ID(chi.URLParam(r, "accountID")), hash); err != nil {
		return err
	}
	return s.Saved(w, r, "/people")
}

func (s *Service) personDisable(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	id := logbook.ID(chi.URLParam(r, "accountID"))
	if id == v.Actor.AccountID {
		// A coordinator who locks himself out could lock out everybody.
		return logbook.Errorf(logbook.Conflict, "people.not_self", nil)
	}
	if err := s.DB.DisableAccount(r.Context(), id, f.Text("disabled") == "yes"); err != nil {
		return err
	}
	return s.Saved(w, r, "/people")
}
