package web

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/req"
)

// testNow is 10 February 2026, 09:00 in Halifax.
var testNow = time.Date(2026, 2, 10, 13, 0, 0, 0, time.UTC)

// testServer is the whole program over a fresh logbook with an invented
// programme: two schools, three tanks, two lots and three seasons.
type testServer struct {
	*Server
	t   testing.TB
	now atomic.Int64 // unix seconds

	alder, birch  logbook.Site
	tank1, tank2  logbook.Tank // of alder
	tankB         logbook.Tank // of birch
	lot           logbook.Lot
	one, two, far *logbook.Season // in tank1, tank2, tankB
	coordinator   logbook.Actor
	keeper, class logbook.Actor // of alder
	birchKeeper   logbook.Actor
}

func (ts *testServer) clockAt() time.Time { return time.Unix(ts.now.Load(), 0).UTC() }

// at moves the clock.
func (ts *testServer) at(t time.Time) { ts.now.Store(t.Unix()) }

func newTestServer(t testing.TB) *testServer {
	t.Helper()
	return newToldServer(t, nil)
}

// newToldServer calls told with every statement of its logbook.
func newToldServer(t testing.TB, told func(sql string)) *testServer {
	t.Helper()
	empty, err := emptyLogbook()
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, store.FileName), empty, 0o600); err != nil {
		t.Fatal(err)
	}
	db, err := store.Open(t.Context(), dir, store.Options{Now: testNow, Scratch: true, Told: told})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = db.Close() })
	ts := &testServer{t: t}
	ts.at(testNow)
	ts.Server, err = New(Options{DB: db, Clock: ts.clockAt, Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
	if err != nil {
		t.Fatal(err)
	}
	ts.plant()
	return ts
}

// emptyLogbook is the file of a new logbook, made once: a copy is opened sooner
// than a hundred migrations run.
var emptyLogbook = sync.OnceValues(func() ([]byte, error) {
	dir, err := os.MkdirTemp("", "reddside-empty-")
	if err != nil {
		return nil, err
	}
	defer func() { _ = os.RemoveAll(dir) }()
	db, err := store.Open(context.Background(), dir, store.Options{Now: testNow})
	if err != nil {
		return nil, err
	}
	if err := db.Close(); err != nil {
		return nil, err
	}
	return os.ReadFile(filepath.Join(dir, store.FileName))
})

func (ts *testServer) plant() {
	ts.t.Helper()
	ctx, db, boss := context.Background(), ts.DB, logbook.Actor{AccountID: "", Role: logbook.Coordinator,
		Label: "Coordinator"}
	ts.coordinator = boss
	_, err := db.CreateProgramme(ctx, boss, logbook.Programme{Name: "Test", Language: "en", TemperatureUnit: units.Cel},
		testNow)
	ts.must(err)
	site := func(name, zone string, unit units.TemperatureUnit) logbook.Site {
		s, err := db.CreateSite(ctx, boss, logbook.Site{Name: name, Zone: zone, Language: "en", TemperatureUnit: unit},
			testNow, store.IdempotencyKey{})
		ts.must(err)
		return s
	}
	ts.alder = site("Aldermoss School", "America/Halifax", units.Cel)
	ts.birch = site("Birch Hill School", "America/Vancouver", units.DegF)
	tank := func(s logbook.Site, name string, pump bool) logbook.Tank {
		k, err := db.CreateTank(ctx, boss, logbook.Tank{SiteID: s.ID, Name: name, Volume: 200, Wall: logbook.Insulated,
			Setpoint: units.Some[units.Celsius](7), HasChiller: true, HasFilter: true, HasAirPump: pump,
			HasBasket: true}, testNow, store.IdempotencyKey{})
		ts.must(err)
		return k
	}
	ts.tank1, ts.tank2, ts.tankB = tank(ts.alder, "Tank 1", false), tank(ts.alder, "Tank 2", true),
		tank(ts.birch, "Tank B", true)
	ts.lot, err = db.CreateLot(ctx, boss, logbook.Lot{Code: "L1", Species: logbook.AtlanticSalmon,
		Supplier:     "Test hatchery",
		FertilisedOn: civil.MustParse("2025-11-01")}, testNow, store.IdempotencyKey{})
	ts.must(err)
	season := func(k logbook.Tank) *logbook.Season {
		s, err := db.CreateSeason(ctx, boss, logbook.Season{Label: "2025-26", Tank: k, Lot: ts.lot}, testNow,
			store.IdempotencyKey{})
		ts.must(err)
		_, err = db.CreateDelivery(ctx, boss, logbook.Delivery{SeasonID: s.ID, On: civil.MustParse("2026-01-20"),
			Count:  200,
			Method: logbook.ByHand, ThermalUnits: units.Some[units.ThermalUnits](310), Stage: logbook.EyedEgg}, testNow,
			store.Write{})
		ts.must(err)
		s, err = db.LoadSeason(ctx, s.ID)
		ts.must(err)
		return s
	}
	ts.one, ts.two, ts.far = season(ts.tank1), season(ts.tank2), season(ts.tankB)
	ts.keeper = logbook.Actor{Role: logbook.Keeper, SiteID: ts.alder.ID, Label: "Keeper, Aldermoss School"}
	ts.class = logbook.Actor{Role: logbook.Class, SiteID: ts.alder.ID, Label: "Class, Aldermoss School"}
	ts.birchKeeper = logbook.Actor{Role: logbook.Keeper, SiteID: ts.birch.ID, Label: "Keeper, Birch Hill School"}
}

func (ts *testServer) must(err error) {
	ts.t.Helper()
	if err != nil {
		ts.t.Fatal(err)
	}
}

// browser is one browser with its cookies; a zero actor is not signed in.
type browser struct {
	ts      *testServer
	actor   logbook.Actor // of whom a session that was idle too long is made anew
	used    time.Time
	cookies map[string]string
	lang    string
}

// as returns a browser that is signed in as an actor.
func (ts *testServer) as(a logbook.Actor) *browser {
	ts.t.Helper()
	b := &browser{ts: ts, actor: a, cookies: map[string]string{}, lang: "en"}
	if a.Role.Valid() {
		b.signIn()
	}
	return b
}

// signIn makes a session directly; sign-in itself has tests of its own.
func (b *browser) signIn() {
	ts, a := b.ts, b.actor
	ts.t.Helper()
	ctx, err := ts.Sessions.Load(context.Background(), "")
	ts.must(err)
	ts.Sessions.Put(ctx, req.KeyRole, string(a.Role))
	ts.Sessions.Put(ctx, req.KeySite, string(a.SiteID))
	ts.Sessions.Put(ctx, req.KeyLabel, a.Label)
	ts.Sessions.Put(ctx, req.KeyAccount, string(a.AccountID))
	ts.Sessions.Put(ctx, "revision", int64(1))
	token, _, err := ts.Sessions.Commit(ctx)
	ts.must(err)
	b.cookies[ts.Sessions.Cookie.Name], b.used = token, ts.clockAt()
}

// page is an answer.
type page struct {
	Status   int
	Body     string
	Location string
	Header   http.Header
}

func (b *browser) do(req *http.Request) page {
	now := b.ts.clockAt()
	if b.actor.Role.Valid() && b.cookies[b.ts.Sessions.Cookie.Name] != "" && now.Sub(b.used) > 2*time.Hour {
		b.signIn()
	}
	b.used = now
	req.Host, req.RemoteAddr = "localhost", "127.0.0.1:50000"
	req.Header.Set("Accept-Language", b.lang)
	for name, value := range b.cookies {
		req.AddCookie(&http.Cookie{Name: name, Value: value})
	}
	w := httptest.NewRecorder()
	b.ts.ServeHTTP(w, req)
	for _, c := range w.Result().Cookies() {
		if c.MaxAge < 0 {
			delete(b.cookies, c.Name)
		} else {
			b.cookies[c.Name] = c.Value
		}
	}
	return page{Status: w.Code, Body: w.Body.String(), Location: w.Header().Get("Location"), Header: w.Header()}
}

func (b *browser) get(path string) page { return b.do(httptest.NewRequest("GET", path, nil)) }

func (b *browser) post(path string, f url.Values) page {
	req := httptest.NewRequest("POST", path, strings.NewReader(f.Encode()))
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return b.do(req)
}

// fields makes form values from pairs.
func fields(pairs ...string) url.Values {
	v := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Add(pairs[i], pairs[i+1])
	}
	return v
}

func (p page) want(t testing.TB, status int, texts ...string) page {
	t.Helper()
	if p.Status != status {
		t.Fatalf("status %d, want %d: %s", p.Status, status, plainText(p.Body))
	}
	for _, s := range texts {
		if !strings.Contains(p.Body, s) {
			t.Errorf("page has no %q: %s", s, plainText(p.Body))
		}
	}
	return p
}

func (p page) lacks(t testing.TB, texts ...string) page {
	t.Helper()
	for _, s := range texts {
		if strings.Contains(p.Body, s) {
			t.Errorf("page has %q", s)
		}
	}
	return p
}

var tags = regexp.MustCompile(`(?s)<head>.*?</head>|<svg.*?</svg>|<[^>]*>|\s+`)

func plainText(body string) string {
	if i := strings.Index(body, "<main"); i > 0 {
		body = body[i:]
	}
	s := strings.Join(strings.Fields(tags.ReplaceAllString(body, " ")), " ")
	return s[:min(len(s), 700)]
}

var hiddenInput = regexp.MustCompile(`<input type="hidden" name="([^"]*)" value="([^"]*)"`)

// hidden returns the hidden fields of a page's forms; sign-out and language
// forms have none that matter.
func (p page) hidden() url.Values {
	v := url.Values{}
	for _, m := range hiddenInput.FindAllStringSubmatch(p.Body, -1) {
		if m[1] != "back" {
			v.Add(m[1], strings.NewReplacer("&#34;", `"`, "&#39;", "'", "&lt;", "<", "&gt;", ">", "&amp;",
				"&").Replace(m[2]))
		}
	}
	return v
}

func (ts *testServer) load(s *logbook.Season) *logbook.Season {
	ts.t.Helper()
	got, err := ts.DB.LoadSeason(context.Background(), s.ID)
	ts.must(err)
	return got
}

func seasonPath(s *logbook.Season, rest string) string {
	return fmt.Sprintf("/seasons/%s/%s", s.ID, rest)
}
