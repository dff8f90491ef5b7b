package req

import (
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// keptLifetime is how long what was sent without a sign-in is kept, and maxPendingBody
// how large it may be in bytes: the forms of the logbook are small.
const (
	PendingLifetime = 24 * time.Hour
	maxPendingBody  = 32 << 10
)

// PendingPath is where the owner decides on what was kept.
const PendingPath = "/kept"

// pendingKind is a form that is kept when it comes after the sign-in has ended. A new
// entry is saved at a click; a correction opens its form again, filled in. What only
// takes back, closes or marks is never kept: nothing typed is lost with it.
type pendingKind struct {
	pattern string // of its path, as path.Match
	title   string // key
	edit    bool
	fields  []string // shown, in this order
	label   func(*i18n.Printer) func(field string) string
}

func labelled(prefix string) func(*i18n.Printer) func(string) string {
	return func(p *i18n.Printer) func(string) string { return func(f string) string { return p.T(prefix + f) } }
}

func eventLabels(p *i18n.Printer) func(string) string {
	return func(f string) string { return words.EventLabel(p, f) }
}

var (
	deliveryFields = []string{"on", "count", "method", "stage", "thermal_units", "mean_temperature",
		"development_index", "pack_temperature", "note"}

	releaseFields = []string{"water_body", "latitude", "longitude", "purpose", "life_stage", "health", "health_note",
		"mean_mm",
		"size_how", "transport", "water_source", "oxygen", "container", "water", "left", "arrived", "bucket", "stream",
		"temper_steps", "temper_minutes"}
	whyFields = []string{"reason", "reason_text"} // of every correction

	pendingKinds = []pendingKind{
		{"/seasons/*/checks", "kept.check", false, words.CheckFields, words.CheckLabel},
		{"/seasons/*/events", "kept.event", false, words.EventFields, eventLabels},
		{"/seasons/*/samples", "kept.sample", false, words.SampleFields, labelled("sample.")},
		{"/seasons/*/deliveries", "kept.delivery", false, deliveryFields, labelled("delivery.")},
		{"/seasons/*/notes", "kept.note", false, []string{"body"}, labelled("kept.")},
		{"/seasons/*/guess", "kept.guess", false, []string{"group", "on"}, labelled("guess_field.")},
		{"/sites/*/round", "kept.round", false, nil, nil},
		{"/checks/*/correct", "kept.check_correct", true, words.CheckFields, words.CheckLabel},
		{"/events/*/correct", "kept.event_correct", true, words.EventFields, eventLabels},
		{"/samples/*/correct", "kept.sample_correct", true, words.SampleFields, labelled("sample.")},
		{"/deliveries/*/correct", "kept.delivery_correct", true, deliveryFields, labelled("delivery.")},
		{"/guesses/*/correct", "kept.guess_correct", true, []string{"group", "on"}, labelled("guess_field.")},
		{"/releases/*/correct", "kept.release_correct", true, releaseFields, labelled("release.")},
		{"/flags/*/aside", "kept.aside", true, []string{"reason", "until"}, labelled("flag.aside.")},
	}
)

// pendingKindOf returns the kind of a path, nil for one that is not kept.
func pendingKindOf(p string) *pendingKind {
	for i := range pendingKinds {
		if ok, _ := path.Match(pendingKinds[i].pattern, p); ok {
			return &pendingKinds[i]
		}
	}
	return nil
}

// addPending keeps the body of a POST that came without a sign-in, for a day, for who
// signed in last in this browser, and returns the page to go on to after sign-in.
// A browser in which nobody has signed in keeps nothing: it goes on to the form.
func (s *Kernel) addPending(r *http.Request) (next string, err error) {
	kind := pendingKindOf(r.URL.Path)
	if kind == nil || !strings.HasPrefix(r.Header.Get("Content-Type"), "application/x-www-form-urlencoded") {
		return "/", nil
	}
	next = s.pathBack(r)
	owner, _, err := s.knownBrowser(r)
	if err != nil || owner == "" || r.ContentLength > maxPendingBody {
		return next, err
	}
	body, err := io.ReadAll(io.LimitReader(r.Body, maxPendingBody+1))
	if err != nil || len(body) > maxPendingBody {
		return next, err
	}
	now := Of(r).Now
	post := store.PendingSubmission{Owner: owner, Path: r.URL.Path, Body: string(body),
		ExpiresAt: now.Add(PendingLifetime)}
	if err := s.DB.AddPending(r.Context(), post, now); err != nil {
		return next, err
	}
	return PendingPath, nil
}

// PendingHere reports whether something waits for who signed in last in this browser.
func (s *Kernel) PendingHere(r *http.Request) (bool, error) {
	owner, _, err := s.knownBrowser(r)
	if err != nil || owner == "" {
		return false, err
	}
	list, err := s.DB.PendingSubmissions(r.Context(), owner, Of(r).Now)
	return len(list) > 0, err
}

// AfterSignIn is the page to go on to: what waits for who signed in comes first.
func (s *Kernel) AfterSignIn(r *http.Request, next string) (string, error) {
	list, err := s.pendingOf(r)
	switch {
	case err != nil:
		return "", err
	case len(list) > 0:
		return PendingPath, nil
	case next == PendingPath: // it waits for somebody else
		return "/", nil
	}
	return next, nil
}

// pendingOf lists what waits for who is signed in.
func (s *Kernel) pendingOf(r *http.Request) ([]store.PendingSubmission, error) {
	v := Of(r)
	return s.DB.PendingSubmissions(r.Context(), store.OwnerOf(v.Actor), v.Now)
}

// PendingShow shows what waits, and asks.
func (s *Kernel) PendingShow(w http.ResponseWriter, r *http.Request) error {
	list, err := s.pendingOf(r)
	if err != nil {
		return err
	}
	if len(list) == 0 {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return nil
	}
	v := Of(r)
	m := PendingPage{Page: s.NewPage(r, "kept.title", "")}
	for i := range list {
		m.Rows = append(m.Rows, s.pendingRow(r, v, &list[i]))
	}
	return s.Render(w, r, http.StatusOK, PendingPageView(m))
}

func (s *Kernel) pendingRow(r *http.Request, v *Info, post *store.PendingSubmission) PendingRow {
	row := PendingRow{ID: string(post.ID), Title: post.Path}
	kind := pendingKindOf(post.Path)
	if kind == nil {
		return row
	}
	row.Title, row.Edit = v.P.T(kind.title), kind.edit
	p, loc := v.P, time.UTC
	// Only a new entry names its tank in its address.
	if id, ok := strings.CutPrefix(path.Dir(post.Path), "/seasons/"); ok {
		season, err := s.DB.LoadSeason(r.Context(), logbook.ID(id))
		if err == nil && v.Actor.MaySee(season.Site.ID) {
			row.Where = season.Tank.Name + ", " + season.Site.Name
			p, loc = s.InSite(v, season.Site), season.Site.Location()
		}
	} else if v.Actor.SiteID != "" {
		if site, err := s.DB.Site(r.Context(), v.Actor.SiteID); err == nil {
			row.Where, p, loc = site.Name, s.InSite(v, site), site.Location()
		}
	}
	row.At = p.When(post.CreatedAt, loc)
	typed, err := url.ParseQuery(post.Body)
	if err != nil {
		return row
	}
	line := func(label, field string) {
		x := strings.TrimSpace(typed.Get(field))
		if x == "other" && typed.Has(field+"_other") { // a day that has no tile
			x = strings.TrimSpace(typed.Get(field + "_other"))
		}
		if x != "" {
			row.Lines = append(row.Lines, ui.EntryLine{Label: label, Value: words.TypedText(p, field, x)})
		}
	}
	for _, field := range kind.fields {
		line(kind.label(p)(field), field)
	}
	if path.Base(post.Path) == "correct" {
		for _, field := range whyFields {
			line(p.T("entry."+field), field)
		}
	}
	return row
}

// PendingDecide saves a new entry, opens the form of a correction, or throws one away,
// as its owner says.
func (s *Kernel) PendingDecide(w http.ResponseWriter, r *http.Request) error {
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	list, err := s.pendingOf(r)
	if err != nil {
		return err
	}
	var post *store.PendingSubmission
	for i := range list {
		if string(list[i].ID) == f.Text("id") {
			post = &list[i]
		}
	}
	if post == nil { // decided on meanwhile, or somebody else's
		http.Redirect(w, r, PendingPath, http.StatusSeeOther)
		return nil
	}
	if f.Text("do") == "drop" {
		if err := s.DB.ForgetPost(r.Context(), post.Owner, post.ID); err != nil {
			return err
		}
		s.SetNotice(r, Of(r).P.T("kept.dropped"))
		http.Redirect(w, r, PendingPath, http.StatusSeeOther)
		return nil
	}
	kind := pendingKindOf(post.Path)
	if f.Text("do") != "save" || kind == nil {
		return logbook.Refuse([]logbook.Problem{{Field: "do", Key: "choice.unknown"}})
	}
	s.Sessions.Put(r.Context(), pendingMark(post.Path, typedKey(post.Body)), string(post.ID))
	if kind.edit {
		post.Body += "&review=1" // the form is shown, nothing is stored
	}
	answer := httptest.NewRecorder()
	s.Pages.ServeHTTP(answer, again(r, post))
	stored := answer.Code < 400
	if stored && !kind.edit && len(list) > 1 { // the notice tells that it was saved
		http.Redirect(w, r, PendingPath, http.StatusSeeOther)
		return nil
	}
	copyAnswer(w, answer)
	return nil
}

// pendingMark is where a session remembers which kept entry was opened at an address.
// New entries at one address are told apart by the hidden key of their forms.
func pendingMark(address, key string) string { return "kept " + address + " " + key }

func typedKey(body string) string {
	typed, _ := url.ParseQuery(body) // what can be read of it
	return typed.Get("key")
}

// forgetStored forgets the kept entry that a form held which was stored now: at a
// click, or after its form had been shown with a question or a problem.
func (s *Kernel) forgetStored(r *http.Request, status int) error {
	v := Of(r)
	stored := status == http.StatusSeeOther || status == http.StatusCreated
	if !stored || r.Method != http.MethodPost || v.Bearer || !v.SignedIn() || pendingKindOf(r.URL.Path) == nil {
		return nil
	}
	id := s.Sessions.GetString(r.Context(), pendingMark(r.URL.Path, r.PostForm.Get("key")))
	if id == "" {
		return nil
	}
	return s.DB.ForgetPost(r.Context(), store.OwnerOf(v.Actor), logbook.ID(id))
}

// again is the request of a kept entry, sent by who signed in now.
func again(r *http.Request, post *store.PendingSubmission) *http.Request {
	out := r.Clone(r.Context())
	out.URL = &url.URL{Path: post.Path}
	out.Body = io.NopCloser(strings.NewReader(post.Body))
	out.ContentLength = int64(len(post.Body))
	out.Form, out.PostForm = nil, nil
	// The router of the entries starts afresh.
	return out.WithContext(context.WithValue(out.Context(), chi.RouteCtxKey, nil))
}

func copyAnswer(w http.ResponseWriter, answer *httptest.ResponseRecorder) {
	for name, values := range answer.Header() {
		for _, v := range values {
			w.Header().Add(name, v)
		}
	}
	w.WriteHeader(answer.Code)
	_, _ = w.Write(answer.Body.Bytes())
}
