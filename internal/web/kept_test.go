package web

import (
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/req"
)

// lapsed is a browser in which a role signed in whose session has ended since.
func (ts *testServer) lapsed(role string) *browser {
	ts.t.Helper()
	ts.Demo = true // signing in without a passphrase, from this machine
	b := ts.as(noActor)
	b.demoSignIn(role).want(ts.t, 303)
	delete(b.cookies, ts.Sessions.Cookie.Name)
	return b
}

// decide does with the first entry that waits what its owner says.
func (b *browser) decide(t *testing.T, do string) page {
	t.Helper()
	f := b.get(req.PendingPath).want(t, 200).hidden()
	f.Set("id", f["id"][0])
	f.Set("do", do)
	return b.post(req.PendingPath, f)
}

// Requirement F21: the sign-in ended while somebody typed. The entry is kept for
// the same account, shown after sign-in, and saved at a click.
func TestSignInEndedWhileTyping(t *testing.T) {
	ts := newTestServer(t)
	b := ts.lapsed("class")
	f := plainCheck("key", string(logbook.NewID()), "note", "kept over the sign-in")
	p := b.post(seasonPath(ts.one, "checks"), f).want(t, 303)
	if !strings.HasPrefix(p.Location, "/sign-in") {
		t.Fatalf("sent to %s", p.Location)
	}
	b.get(p.Location).want(t, 200, "Your entry is kept")
	p = b.demoSignIn("class").want(t, 303)
	b.get(p.Location).want(t, 200, "kept over the sign-in", "Tank 1, Aldermoss School", "Save it", "Throw it away")
	if n := len(ts.load(ts.one).Checks); n != 0 {
		t.Fatalf("%d checks stored without a click", n)
	}
	p = b.decide(t, "save").want(t, 303)
	b.get(p.Location).want(t, 200, "kept over the sign-in", "Saved: the check")
	if n := len(ts.load(ts.one).Checks); n != 1 {
		t.Fatalf("%d checks stored", n)
	}
	if p = b.demoSignIn("class"); p.Location == req.PendingPath {
		t.Error("it still waits")
	}
	// One with a problem comes back as its form, with what was typed.
	b = ts.lapsed("class")
	b.post(seasonPath(ts.two, "checks"), plainCheck("temperature", "warm", "note", "still here")).want(t, 303)
	b.demoSignIn("class").want(t, 303)
	b.decide(t, "save").want(t, 422, "It must be a number", "still here", `value="warm"`)
	// It waits until it is stored or thrown away; one that is thrown away is gone.
	b.decide(t, "drop").want(t, 303)
	b = ts.lapsed("class")
	b.post(seasonPath(ts.two, "checks"), plainCheck()).want(t, 303)
	b.demoSignIn("class").want(t, 303)
	b.decide(t, "drop").want(t, 303)
	b.get(req.PendingPath).want(t, 303)
	if n := len(ts.load(ts.two).Checks); n != 0 {
		t.Errorf("%d checks stored", n)
	}
}

// What a browser sends in which nobody is signed in never runs under the next
// sign-in, and what waits for one is not seen by another.
func TestNothingRunsUnderAnotherSignIn(t *testing.T) {
	ts := newTestServer(t)
	c := ts.check(ts.one, testToday, 7, 0)
	season := joined(ts.as(ts.coordinator).get(seasonPath(ts.one, "edit")).want(t, 200).hidden(),
		fields("label", "stolen"))
	void := fields("revision", "1", "reason", "misread")
	for _, b := range []*browser{ts.as(noActor), ts.lapsed("coordinator"), ts.lapsed("keeper")} {
		b.post("/checks/"+string(c.ID)+"/void", void).want(t, 303)
		b.post(seasonPath(ts.one, "edit"), season).want(t, 303)
		b.post(seasonPath(ts.one, "notes/seen"), nil).want(t, 303)
		if p := b.demoSignIn("coordinator"); p.Location == req.PendingPath {
			t.Error("an act that is no entry was kept")
		}
	}
	s := ts.load(ts.one)
	if len(s.Checks) != 1 || s.Checks[0].Voided || s.Label != "2025-26" {
		t.Errorf("it ran: %+v, label %s", s.Checks, s.Label)
	}
	// A stranger's entry is not kept at all; the form is what sign-in leads to.
	p := ts.as(noActor).post(seasonPath(ts.two, "checks"), plainCheck()).want(t, 303)
	if next, _ := url.Parse(p.Location); next.Query().Get("next") != seasonPath(ts.two, "checks/new") {
		t.Errorf("sent to %s", p.Location)
	}
	b := ts.lapsed("keeper")
	b.post(seasonPath(ts.two, "checks"), plainCheck()).want(t, 303)
	if p := b.demoSignIn("coordinator"); p.Location == req.PendingPath {
		t.Error("the coordinator sees what waits for the keeper")
	}
	b.get(req.PendingPath).want(t, 303)
	list, err := ts.DB.PendingSubmissions(t.Context(), store.OwnerOf(ts.keeper), testNow)
	if err != nil || len(list) != 1 {
		t.Fatal(list, err)
	}
	id := string(list[0].ID)
	for _, do := range []string{"save", "drop"} {
		b.post(req.PendingPath, fields("id", id, "do", do)).want(t, 303)
	}
	if len(ts.load(ts.two).Checks) != 0 {
		t.Error("it ran under the coordinator's sign-in")
	}
	if p := b.demoSignIn("keeper"); p.Location != req.PendingPath {
		t.Errorf("the keeper is led to %s", p.Location)
	}
}

// A correction opens its form again with what was typed, and nothing changes
// before it is sent.
func TestCorrectionIsKeptOverTheSignIn(t *testing.T) {
	ts := newTestServer(t)
	c := ts.check(ts.one, testToday, 7, 0)
	d := ts.load(ts.one).Deliveries[0]
	for path, f := range map[string]url.Values{
		"/checks/" + string(c.ID) + "/correct": plainCheck("temperature", "8.25", "note", "typed here", "revision",
			"1", "reason", "misread"),
		"/deliveries/" + string(d.ID) + "/correct": fields("on", "2026-01-20", "count", "190", "method", "by_hand",
			"note", "typed here", "revision", "1", "reason", "misread"),
	} {
		b := ts.lapsed("keeper")
		b.post(path, f).want(t, 303)
		b.demoSignIn("keeper").want(t, 303)
		b.get(req.PendingPath).want(t, 200, "typed here", "Open the form").lacks(t, "Save it")
		p := b.decide(t, "save").want(t, 200, "typed here", `action="`+path+`"`)
		if got := p.hidden().Get("revision"); got != "1" {
			t.Errorf("%s: revision %q", path, got)
		}
		b.decide(t, "drop").want(t, 303) // else it goes on waiting
	}
	s := ts.load(ts.one)
	if s.Checks[0].Revision != 1 || s.Deliveries[0].Revision != 1 {
		t.Error("a correction ran without being sent")
	}
}

// A flood without a sign-in keeps nothing, and stops nobody else's keeping; what
// ended leaves room.
func TestFloodLeavesKeepingOn(t *testing.T) {
	ts := newTestServer(t)
	b, stranger := ts.lapsed("keeper"), ts.as(noActor)
	for i := range 500 {
		stranger.post(seasonPath(ts.one, "checks"), plainCheck("note", fmt.Sprint(i))).want(t, 303)
	}
	if n := ts.sqlCount("SELECT count(*) FROM kept_post"); n != 0 {
		t.Errorf("%d entries of a stranger kept", n)
	}
	for day := range 3 {
		ts.at(testNow.Add(time.Duration(day) * (req.PendingLifetime + time.Minute)))
		b.post(seasonPath(ts.one, "checks"), plainCheck("note", fmt.Sprint(day))).want(t, 303)
		if n := ts.sqlCount("SELECT count(*) FROM kept_post"); n != 1 {
			t.Errorf("day %d: %d entries wait", day, n)
		}
	}
}
