package web

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"net/http"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/alexedwards/argon2id"
	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/view"
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
func (s *Server) setupRoutes(r chi.Router) {
	r.Get("/setup", s.page(s.setupShow))
	r.Post("/setup/code", s.page(s.setupCode))
	r.Post("/setup/programme", s.page(s.setupProgramme))
	r.Group(func(r chi.Router) {
		r.Use(s.need(logbook.Coordinator))
		r.Post("/setup/site", s.page(s.setupSite))
		r.Post("/setup/tank", s.page(s.setupTank))
		r.Post("/setup/lot", s.page(s.setupLot))
		r.Post("/setup/delivery", s.page(s.setupDelivery))
	})
}

// codeLetters are easy to tell apart in print: no 0, O, 1, l or I.
const codeLetters = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"

// NewSetupCode makes a one-time code for the first start, stores its hash and
// returns it for the console. It is refused once there is a programme.
func NewSetupCode(ctx context.Context, db *store.DB, now time.Time) (string, error) {
	code, err := newCode()
	if err != nil {
		return "", err
	}
	return spacedCode(code), db.StartSetup(ctx, secretHash(code), now)
}

// newCode makes eight random letters, a code of 39 bits that a person can copy.
func newCode() (string, error) {
	b := make([]byte, 8)
	if _, err := rand.Read(b); err != nil {
		return "", err
	}
	for i := range b {
		b[i] = codeLetters[int(b[i])%len(codeLetters)]
	}
	return string(b), nil
}

// spacedCode is a code as it is shown.
func spacedCode(code string) string { return code[:4] + "-" + code[4:] }

// cleanCode undoes how people copy a code.
func cleanCode(s string) string {
	return strings.ToUpper(strings.NewReplacer("-", "", " ", "").Replace(s))
}

// setupShow goes on with the first missing thing.
func (s *Server) setupShow(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	if v.programme.ID == "" {
		if !s.sessions.GetBool(r.Context(), keySetup) {
			return s.setupCodeForm(w, r, newForm())
		}
		f := newForm()
		f.set("language", v.p.Lang())
		f.set("temperature_unit", string(v.p.Unit()))
		return s.setupProgrammeForm(w, r, f)
	}
	if !v.signedIn() {
		http.Redirect(w, r, "/sign-in?next=/setup", http.StatusSeeOther)
		return nil
	}
	return s.setupNext(w, r)
}

// setupNext shows the form of the first thing that is missing, or the board.
func (s *Server) setupNext(w http.ResponseWriter, r *http.Request) error {
	st, err := s.setupState(r.Context())
	if err != nil {
		return err
	}
	if visitOf(r).actor.Role != logbook.Coordinator || st.started {
		http.Redirect(w, r, "/board", http.StatusSeeOther)
		return nil
	}
	switch {
	case st.site.ID == "":
		v := visitOf(r)
		return s.setupSiteForm(w, r, siteForm(logbook.Site{Zone: localZone(), Language: v.programme.Language, TemperatureUnit: v.programme.TemperatureUnit}))
	case st.tank.ID == "":
		return s.setupTankForm(w, r, st.site, newForm())
	case st.lot.ID == "":
		return s.setupLotForm(w, r, newForm())
	}
	return s.setupDeliveryForm(w, r, st, newForm())
}

// setupState is what the set-up has made so far.
type setupState struct {
	site    logbook.Site
	tank    logbook.Tank
	lot     logbook.Lot
	started bool // there is a season
}

func (s *Server) setupState(ctx context.Context) (st setupState, err error) {
	sites, err := s.db.Sites(ctx)
	if err != nil || len(sites) == 0 {
		return st, err
	}
	st.site = sites[0]
	tanks, err := s.db.Tanks(ctx, st.site.ID)
	if err != nil || len(tanks) == 0 {
		return st, err
	}
	st.tank = tanks[0]
	lots, err := s.db.Lots(ctx)
	if err != nil || len(lots) == 0 {
		return st, err
	}
	st.lot = lots[0]
	heads, err := s.db.SeasonHeads(ctx, store.SeasonFilter{})
	st.started = len(heads) > 0
	return st, err
}

// setupPage is a form page of step n.
func (s *Server) setupPage(r *http.Request, b *items, step string, n int) view.FormPage {
	p := s.newPage(r, "setup."+step, "")
	v := view.FormPage{Page: p, Action: "/setup/" + step, Submit: p.T("setup." + step + ".submit"), Items: b.list, Intro: p.T("setup." + step + ".intro")}
	v.Step = p.T("setup.step", logbook.Args{"N": n, "Of": 6})
	return v
}

func (s *Server) setupCodeForm(w http.ResponseWriter, r *http.Request, f *form) error {
	b := formItems(s.cat, visitOf(r).p, "setup")
	b.text("setup_code", f.raw("setup_code"))
	return s.showForm(w, r, s.setupPage(r, b, "code", 1), b, f.problems)
}

func (s *Server) setupCode(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	f, err := readForm(r)
	if err != nil {
		return err
	}
	if wait := s.tries.try("setup", v.now); wait > 0 {
		f.fail("setup_code", "error.too_many", logbook.Args{"Seconds": int(wait.Seconds()) + 1})
		return s.setupCodeForm(w, r, f)
	}
	draft, err := s.db.Setup(r.Context())
	if err != nil {
		return err
	}
	given := secretHash(cleanCode(f.text("setup_code")))
	if draft.CodeHash == "" || subtle.ConstantTimeCompare([]byte(given), []byte(draft.CodeHash)) != 1 {
		f.fail("setup_code", "setup.code.wrong", nil)
		return s.setupCodeForm(w, r, f)
	}
	s.tries.passed("setup")
	if err := s.sessions.RenewToken(r.Context()); err != nil {
		return err
	}
	s.sessions.Put(r.Context(), keySetup, true)
	http.Redirect(w, r, "/setup", http.StatusSeeOther)
	return nil
}

func (s *Server) setupProgrammeForm(w http.ResponseWriter, r *http.Request, f *form) error {
	p := visitOf(r).p
	b := formItems(s.cat, p, "programme")
	b.text("name", f.raw("name"))
	b.tiles("language", f.raw("language"), s.languageOptions(p))
	b.tiles("temperature_unit", f.raw("temperature_unit"), unitOptions())
	b.secret("passphrase")
	b.secret("again")
	return s.showForm(w, r, s.setupPage(r, b, "programme", 2), b, f.problems)
}

// readPassphrase reads a new passphrase that was typed twice.
func readPassphrase(f *form) string {
	pass := f.raw("passphrase")
	switch n := utf8.RuneCountInString(pass); {
	case n < minPassphrase:
		f.fail("passphrase", "passphrase.short", logbook.Args{"Min": minPassphrase})
	case n > maxPassphrase:
		f.fail("passphrase", "entry.too_long", logbook.Args{"Max": maxPassphrase})
	case commonPassphrase(pass):
		f.fail("passphrase", "passphrase.common", nil)
	case pass != f.raw("again"):
		f.fail("again", "passphrase.again", nil)
	}
	return pass
}

// commonPassphrase refuses what guessers try first: one character or a short
// piece over and over, or a run along the keyboard.
func commonPassphrase(s string) bool {
	low := strings.ToLower(strings.ReplaceAll(s, " ", ""))
	for n := 1; n <= 4 && n*2 <= len(low); n++ {
		if strings.Repeat(low[:n], len(low)/n+1)[:len(low)] == low {
			return true
		}
	}
	for _, run := range []string{"abcdefghijklmnopqrstuvwxyz", "12345678901234567890", "qwertyuiopasdfghjklzxcvbnm", "passwordpassword", "reddsidereddside", "salmonsalmonsalmon"} {
		if strings.Contains(run, low) || strings.HasPrefix(low, run) {
			return true
		}
	}
	return false
}

func (s *Server) setupProgramme(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	if v.programme.ID != "" || !s.sessions.GetBool(r.Context(), keySetup) {
		http.Redirect(w, r, "/setup", http.StatusSeeOther)
		return nil
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	p := logbook.Programme{Name: f.text("name"), Language: f.text("language"), TemperatureUnit: units.TemperatureUnit(f.text("temperature_unit"))}
	f.add(p.Validate())
	pass := readPassphrase(f)
	if len(f.problems) > 0 {
		return s.setupProgrammeForm(w, r, f)
	}
	hash, err := argon2id.CreateHash(pass, passphraseParams)
	if err != nil {
		return err
	}
	_, acc, err := s.db.FoundProgramme(r.Context(), p, store.Account{Label: v.p.T("setup.coordinator"), PassphraseHash: hash}, v.now)
	if err != nil {
		return err
	}
	s.sessions.Remove(r.Context(), keySetup)
	if err := s.signIn(w, r, acc.Actor(), acc.Revision); err != nil {
		return err
	}
	http.SetCookie(w, &http.Cookie{Name: cookieLanguage, Value: p.Language, Path: "/", MaxAge: 400 * 24 * 3600,
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.tls})
	http.Redirect(w, r, "/setup", http.StatusSeeOther)
	return nil
}

func (s *Server) setupSiteForm(w http.ResponseWriter, r *http.Request, f *form) error {
	b := s.siteItems(visitOf(r).p, f)
	return s.showForm(w, r, s.setupPage(r, b, "site", 3), b, f.problems)
}

func (s *Server) setupSite(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	f, err := readForm(r)
	if err != nil {
		return err
	}
	site := readSite(f, logbook.Site{})
	if len(f.problems) > 0 {
		return s.setupSiteForm(w, r, f)
	}
	if _, err := s.db.CreateSite(r.Context(), v.actor, site, v.now, store.Once{}); err != nil {
		return err
	}
	http.Redirect(w, r, "/setup", http.StatusSeeOther)
	return nil
}

func (s *Server) setupTankForm(w http.ResponseWriter, r *http.Request, site logbook.Site, f *form) error {
	b := s.tankItems(visitOf(r).p, f, site)
	return s.showForm(w, r, s.setupPage(r, b, "tank", 4), b, f.problems)
}

func (s *Server) setupTank(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	f, err := readForm(r)
	if err != nil {
		return err
	}
	st, err := s.setupState(r.Context())
	if err != nil || st.site.ID == "" {
		return orSetup(w, r, err)
	}
	t := readTank(f, logbook.Tank{SiteID: st.site.ID}, st.site)
	if len(f.problems) > 0 {
		return s.setupTankForm(w, r, st.site, f)
	}
	if _, err := s.db.CreateTank(r.Context(), v.actor, t, v.now, store.Once{}); err != nil {
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

func (s *Server) setupLotForm(w http.ResponseWriter, r *http.Request, f *form) error {
	b := s.lotItems(visitOf(r).p, f)
	return s.showForm(w, r, s.setupPage(r, b, "lot", 5), b, f.problems)
}

func (s *Server) setupLot(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	f, err := readForm(r)
	if err != nil {
		return err
	}
	l := readLot(f, logbook.Lot{}, v.programmeToday())
	if len(f.problems) > 0 {
		return s.setupLotForm(w, r, f)
	}
	if _, err := s.db.CreateLot(r.Context(), v.actor, l, v.now, store.Once{}); err != nil {
		return err
	}
	http.Redirect(w, r, "/setup", http.StatusSeeOther)
	return nil
}

func (s *Server) setupDeliveryForm(w http.ResponseWriter, r *http.Request, st setupState, f *form) error {
	b := s.deliveryItems(visitOf(r).p, f, st.site)
	v := s.setupPage(r, b, "delivery", 6)
	v.Cancel = "/board"
	return s.showForm(w, r, v, b, f.problems)
}

func (s *Server) setupDelivery(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	f, err := readForm(r)
	if err != nil {
		return err
	}
	st, err := s.setupState(r.Context())
	if err != nil || st.lot.ID == "" || st.started {
		return orSetup(w, r, err)
	}
	d := readDelivery(f, logbook.Delivery{}, st.lot, st.site, s.today(st.site, v.now))
	if len(f.problems) > 0 {
		return s.setupDeliveryForm(w, r, st, f)
	}
	season, err := s.db.StartSeason(r.Context(), v.actor, logbook.Season{Label: seasonLabel(d.On), Tank: st.tank, Lot: st.lot}, d, v.now, store.Once{})
	if err != nil {
		return err
	}
	if err := s.db.EndSetup(r.Context()); err != nil {
		return err
	}
	if err := s.syncFlags(r.Context(), v.actor, season.ID, v.now); err != nil {
		return err
	}
	return s.saved(w, r, "/seasons/"+string(season.ID))
}
