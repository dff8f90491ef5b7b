package web

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"reddside/internal/web/req"
)

// sendWaiting sends a check as the script of waiting entries does.
func (b *browser) sendWaiting(path string, f url.Values) page {
	post := newPost(path, f)
	post.Header.Set(req.HeaderWaiting, "1")
	return b.do(post)
}

// What a script sends is answered with a bare status, and stored once per key,
// on a later day too, when a form sent for the first time would be asked about.
func TestWaitingEntryIsStoredOnce(t *testing.T) {
	ts := newTestServer(t)
	b := ts.pairedTablet(ts.alder.ID).browser()
	form := b.get(seasonPath(ts.one, "checks/new")).want(t, 200, `data-wait="Tank 1, Aldermoss School"`, "waiting.js")
	f := plainCheck("key", form.hidden().Get("key"), "opened", testDay)
	first := b.sendWaiting(seasonPath(ts.one, "checks"), f).want(t, 201)
	if !strings.HasPrefix(first.Location, "/checks/") || first.Body != "" {
		t.Errorf("answer %q at %q", first.Body, first.Location)
	}
	for range 3 {
		ts.at(ts.clockAt().Add(20 * time.Hour))
		if p := b.sendWaiting(seasonPath(ts.one, "checks"), f).want(t, 201); p.Location != first.Location {
			t.Errorf("sent again it is %s, not %s", p.Location, first.Location)
		}
	}
	if n := len(ts.load(ts.one).Checks); n != 1 {
		t.Errorf("%d checks, want 1", n)
	}
	// A check that was never stored is asked about when its day is over.
	late := plainCheck("key", strings.Repeat("a", 26), "opened", testDay, "slot", "morning")
	b.sendWaiting(seasonPath(ts.two, "checks"), late).want(t, 422)
	// The same key with other values is another entry: both are shown.
	f.Set("temperature", "8.5")
	f.Set("confirm", "on")
	b.sendWaiting(seasonPath(ts.one, "checks"), f).want(t, 409)
	if n := len(ts.load(ts.one).Checks); n != 1 {
		t.Errorf("%d checks, want 1", n)
	}
}

// Without a sign-in the script is told so, and nothing is kept each time it tries.
func TestWaitingEntryWithoutSignIn(t *testing.T) {
	ts := newTestServer(t)
	b := ts.lapsed("keeper")
	for range 20 {
		b.sendWaiting(seasonPath(ts.one, "checks"), plainCheck()).want(t, 401)
	}
	if ts.sqlCount("SELECT count(*) FROM kept_post") != 0 {
		t.Error("the server kept what the tablet keeps")
	}
}
