package school

import (
	"context"
	"net/http"

	"github.com/alexedwards/argon2id"
	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// Set-up goes from the one-time code to the first delivery. What is stored is
// the state: each visit of /setup goes on with the first thing that is missing,
// so that it can be left and taken up again at any step.

// Lengths of a passphrase, in characters (NIST SP 800-63B: a length of 15 for a
// single factor, and nothing about its make-up).
const (
	minPassphrase = 15
	maxPassphrase = 200
)

const keySetup = "setup" // session: the code was entered

// setupRoutes are the first-start pages.
func (s *Service) setupRoutes(r chi.Router) {
	r.Get("/setup", s.Page(s.setupShow))
	r.Post("/setup/code", s.Page(s.setupCode))
	r.Post("/setup/programme", s.Page(s.setupProgramme))
	r.Get("/setup/file", s.Page(s.moveInShow))
	r.Post("/setup/file", s.Page(s.moveIn))
	r.Group(func(r chi.Router) {
		r.Use(s.Need(logbook.Coordinator))
		r.Post("/setup/site", s.Page(s.setupSite))
		r.Post("/setup/tank", s.Page(s.setupTank))
		r.Post("/setup/lot", s.Page(s.setupLot))
		r.Post("/setup/delivery", s.Page(s.setupDelivery))
	})
}

// setupShow goes on with the first missing thing.
func (s *Service) setupShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	if v.Programme.ID == "" {
		if !s.Sessions.GetBool(r.Context(), keySetup) {
			f := form.NewForm() // the program's own window has the code in the address
			f.Set("setup_code", r.URL.Query().Get("code"))
			return s.setupCodeForm(w, r, f)
		}
		f := form.NewForm()
		f.Set("language", v.P.Lang())
		f.Set("temperature_unit", string(v.P.Unit()))
		return s.setupProgrammeForm(w, r, f)
	}
	if !v.SignedIn() {
		http.Redirect(w, r, "/sign-in?next=/setup", http.StatusSeeOther)
		return nil
	}
	return s.setupNext(w, r)
}

// setupNext shows the form of the first thing that is missing, or the board.
func (s *Service) setupNext(w http.ResponseWriter, r *http.Request) error {
	st, err := s.setupState(r.Context())
	if err != nil {
		return err
	}
	if req.Of(r).Actor.Role != logbook.Coordinator || st.started {
		http.Redirect(w, r, "/board", http.StatusSeeOther)
		return nil
	}
	switch {
	case st.site.ID == "":
		v := req.Of(r)
		return s.setupSiteForm(w, r, siteForm(logbook.Site{Zone: localZone(), Language: v.Programme.Language,
			TemperatureUnit: v.Programme.TemperatureUnit}))
	case st.tank.ID == "":
		return s.setupTankForm(w, r, st.site, form.NewForm())
	case st.lot.ID == "":
		return s.setupLotForm(w, r, form.NewForm())
	}
	return s.setupDeliveryForm(w, r, st, form.NewForm())
}

// setupState is what the set-up has made so far.
type setupState struct {
	site    logbook.Site
	tank    logbook.Tank
	lot     logbook.Lot
	started bool // there is a season
}

func (s *Service) setupState(ctx context.Context) (st setupState, err error) {
	sites, err := s.DB.Sites(ctx)
	if err != nil || len(sites) == 0 {
		return st, err
	}
	st.site = sites[0]
	tanks, err := s.DB.Tanks(ctx, st.site.ID)
	if err != nil || len(tanks) == 0 {
		return st, err
	}
	st.tank = tanks[0]
	lots, err := s.DB.Lots(ctx)
	if err != nil || len(lots) == 0 {
		return st, err
	}
	st.lot = lots[0]
	heads, err := s.DB.SeasonHeads(ctx, store.SeasonFilter{})
	st.started = len(heads) > 0
	return st, err
}

// setupPage is a form page of step n.
func (s *Service) setupPage(r *http.Request, b *form.Items, step string, n int) ui.FormPage {
	p := s.NewPage(r, "setup."+step, "")
	v := ui.FormPage{Page: p, Action: "/setup/" + step, Submit: p.T("setup." + step + ".submit"), Items: b.List,
		Intro: p.T("setup." + step + ".intro")}
	v.Step = p.T("setup.step", logbook.Args{"N": n, "Of": 6})
	return v
}

func (s *Service) setupProgrammeForm(w http.ResponseWriter, r *http.Request, f *form.Form) error {
	p := req.Of(r).P
	b := form.FormItems(s.Cat, p, "programme")
	b.Text("name", f.Raw("name"))
	b.Tiles("language", f.Raw("language"), s.languageOptions(p))
	b.Tiles("temperature_unit", f.Raw("temperature_unit"), unitOptions())
	b.Secret("passphrase")
	b.Secret("again")
	b.Fold("language", "temperature_unit")
	m := s.setupPage(r, b, "programme", 2)
	if s.mayMoveIn(r) {
		m.Other = ui.Option{Value: "/setup/file", Label: p.T("move.have")}
	}
	return s.ShowForm(w, r, m, b, f.Problems)
}

func (s *Service) setupProgramme(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	if v.Programme.ID != "" || !s.Sessions.GetBool(r.Context(), keySetup) {
		http.Redirect(w, r, "/setup", http.StatusSeeOther)
		return nil
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	p := logbook.Programme{Name: f.Text("name"), Language: f.Text("language"),
		TemperatureUnit: units.TemperatureUnit(f.Text("temperature_unit"))}
	f.Add(p.Validate())
	pass := readPassphrase(f)
	if len(f.Problems) > 0 {
		return s.setupProgrammeForm(w, r, f)
	}
	hash, err := argon2id.CreateHash(pass, req.PassphraseParams)
	if err != nil {
		return err
	}
	_, acc, err := s.DB.FoundProgramme(r.Context(), p, store.Account{Label: v.P.T("setup.coordinator"),
		PassphraseHash: hash}, v.Now)
	if err != nil {
		return err
	}
	s.Sessions.Remove(r.Context(), keySetup)
	if err := s.SignIn(w, r, acc.Actor(), acc.Revision); err != nil {
		return err
	}
	http.SetCookie(w, &http.Cookie{Name: req.CookieLanguage, Value: p.Language, Path: "/", MaxAge: 400 * 24 * 3600,
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.TLS})
	http.Redirect(w, r, "/setup", http.StatusSeeOther)
	return nil
}

func (s *Service) setupSiteForm(w http.ResponseWriter, r *http.Request, f *form.Form) error {
	b := s.siteItems(req.Of(r).P, f)
	fold := []string{"altitude_m", "language", "temperature_unit"}
	if f.Raw("zone") != "" {
		fold = append(fold, "zone")
	}
	b.Fold(fold...)
	return s.ShowForm(w, r, s.setupPage(r, b, "site", 3), b, f.Problems)
}

func (s *Service) setupSite(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	site := readSite(f, logbook.Site{})
	if len(f.Problems) > 0 {
		return s.setupSiteForm(w, r, f)
	}
	if _, err := s.DB.CreateSite(r.Context(), v.Actor, site, v.Now, store.IdempotencyKey{}); err != nil {
		return err
	}
	http.Redirect(w, r, "/setup", http.StatusSeeOther)
	return nil
}

func (s *Service) setupTankForm(w http.ResponseWriter, r *http.Request, site logbook.Site, f *form.Form) error {
	if len(f.Values) == 0 { // gallons go with degrees Fahrenheit
		f.Set("volume_unit", "L")
		if site.TemperatureUnit == units.DegF {
			f.Set("volume_unit", "us_gal")
		}
	}
	b := s.tankItems(req.Of(r).P, f, site)
	b.Fold("has_basket", "setpoint")
	return s.ShowForm(w, r, s.setupPage(r, b, "tank", 4), b, f.Problems)
}

func (s *Service) setupTank(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	st, err := s.setupState(r.Context())
	if err != nil || st.site.ID == "" {
		return orSetup(w, r, err)
	}
	t := readTank(f, logbook.Tank{SiteID: st.site.ID}, st.site)
	if len(f.Problems) > 0 {
		return s.setupTankForm(w, r, st.site, f)
	}
	if _, err := s.DB.CreateTank(r.Context(), v.Actor, t, v.Now, store.IdempotencyKey{}); err != nil {
		return err
	}
	http.Redirect(w, r, "/setup", http.StatusSeeOther)
	return nil
}

// orSetup goes back to the step that is missing when there is no error.
func orSetup(w http.ResponseWriter, r *http.Request, err error) error {
	if err == nil {
		http.Redirect(w, r, "/setup", http.StatusSeeOther)
	}
	return err
}

func (s *Service) setupLotForm(w http.ResponseWriter, r *http.Request, f *form.Form) error {
	if len(f.Values) == 0 {
		f.Set("code", req.Of(r).P.T("setup.lot.code",
			logbook.Args{"Season": words.SeasonLabel(req.Of(r).ProgrammeToday())}))
	}
	b := s.lotItems(req.Of(r).P, f)
	b.Fold("supplier", "stock", "egg_diameter_mm", "note", "fertilised_on")
	return s.ShowForm(w, r, s.setupPage(r, b, "lot", 5), b, f.Problems)
}

func (s *Service) setupLot(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	l := readLot(f, logbook.Lot{}, v.ProgrammeToday())
	if len(f.Problems) > 0 {
		return s.setupLotForm(w, r, f)
	}
	if _, err := s.DB.CreateLot(r.Context(), v.Actor, l, v.Now, store.IdempotencyKey{}); err != nil {
		return err
	}
	http.Redirect(w, r, "/setup", http.StatusSeeOther)
	return nil
}

func (s *Service) setupDeliveryForm(w http.ResponseWriter, r *http.Request, st setupState, f *form.Form) error {
	if len(f.Values) == 0 {
		f.Set("on", s.Assess.Today(st.site, req.Of(r).Now).String())
	}
	b := s.deliveryItems(req.Of(r).P, f, st.site)
	b.Fold("stage", "thermal_units", "thermal_units_in", "mean_temperature", "development_index", "pack_temperature",
		"note")
	v := s.setupPage(r, b, "delivery", 6)
	v.Cancel = "/board"
	return s.ShowForm(w, r, v, b, f.Problems)
}

func (s *Service) setupDelivery(w http.ResponseWriter, r *http.Request) error {
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	st, err := s.setupState(r.Context())
	if err != nil || st.lot.ID == "" || st.started {
		return orSetup(w, r, err)
	}
	d := req.ReadDelivery(f, logbook.Delivery{}, st.site)
	new := logbook.Season{Label: words.SeasonLabel(d.On), Site: st.site, Tank: st.tank, Lot: st.lot}
	season, err := s.Entries.StartSeason(r.Context(), req.Sent(r, &new, f), &d)
	if f.Refused(err); len(f.Problems) > 0 {
		return s.setupDeliveryForm(w, r, st, f)
	}
	if err != nil {
		return err
	}
	if err := s.DB.EndSetup(r.Context()); err != nil {
		return err
	}
	return s.Saved(w, r, ui.SeasonPath(season.ID))
}
