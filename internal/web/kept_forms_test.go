package web

import (
	"net/url"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/req"
)

// typedIn is what a browser would send of the first form of a page.
func (p page) typedIn(t *testing.T, action string) url.Values {
	t.Helper()
	v := url.Values{}
	p.doc(t).Find(`form[action="` + action + `"] [name]`).Each(func(_ int, q *goquery.Selection) {
		name, value := q.AttrOr("name", ""), q.AttrOr("value", "")
		_, checked := q.Attr("checked")
		switch kind := q.AttrOr("type", ""); {
		case goquery.NodeName(q) == "button", (kind == "radio" || kind == "checkbox") && !checked:
			return
		case goquery.NodeName(q) == "select":
			value = q.Find("option[selected]").AttrOr("value", "")
		case goquery.NodeName(q) == "textarea":
			value = q.Text()
		}
		v.Add(name, value)
	})
	return v
}

func (ts *testServer) waiting(a logbook.Actor) int {
	ts.t.Helper()
	list, err := ts.DB.PendingSubmissions(ts.t.Context(), store.OwnerOf(a), testNow)
	ts.must(err)
	return len(list)
}

// Each kind of correction is kept, shown in words, opened with what was typed, and
// forgotten when it was stored, not before.
func TestKeptFormsAreForgottenWhenStored(t *testing.T) {
	f := newFullServer(t)
	f.as(f.class).post(seasonPath(f.two, "checks"), plainCheck("chiller", "stopped")).want(t, 303)
	flag := f.flagOn(f.two, "chiller")
	for _, c := range []struct{ path, field, typed, shown string }{
		{"/samples/" + f.ids["sampleID"] + "/correct", "note", "typed here", "typed here"},
		{"/events/" + f.ids["eventID"] + "/correct", "note", "typed here", "typed here"},
		{"/flags/" + string(flag.ID) + "/aside", "reason", "typed here", "typed here"},
		{"/guesses/" + f.ids["guessID"] + "/correct", "group", "Group 9", "Group 9"},
		{"/releases/" + f.ids["releaseID"] + "/correct", "life_stage", "parr", "parr"},
		{"/deliveries/" + f.ids["deliveryID"] + "/correct", "method", "by_hand", "counted by hand"},
	} {
		sent := f.as(f.keeper).get(c.path).want(t, 200).typedIn(t, c.path)
		sent.Set(c.field, c.typed)
		if c.field != "reason" {
			sent.Set("reason", "misread")
		}
		b := f.lapsed("keeper")
		b.post(c.path, sent).want(t, 303)
		b.demoSignIn("keeper").want(t, 303)
		kept := b.get(req.PendingPath).want(t, 200, c.shown).lacks(t, "by_hand", "misread")
		if c.field == "life_stage" {
			kept.want(t, 200, "Invented River")
		}
		opened := b.decide(t, "save").want(t, 200).typedIn(t, c.path)
		if got := opened.Get(c.field); got != c.typed {
			t.Errorf("%s: %s is opened with %q", c.path, c.field, got)
		}
		if n := f.waiting(f.keeper); n != 1 {
			t.Errorf("%s: %d wait after the form was shown", c.path, n)
		}
		if c.field == "reason" { // a rest of the flag needs its end too
			opened.Set("how", "once")
		}
		p := b.post(c.path, opened)
		if p.Status != 303 {
			t.Errorf("%s: %s", c.path, plainText(p.Body))
			b.get(req.PendingPath)
			b.decide(t, "drop")
			continue
		}
		if n := f.waiting(f.keeper); n != 0 {
			t.Errorf("%s: %d wait after it was stored", c.path, n)
		}
	}
}

// A new entry whose form came back with a problem waits until it is stored.
func TestKeptProblemWaitsUntilStored(t *testing.T) {
	ts := newTestServer(t)
	b := ts.lapsed("class")
	key := string(logbook.NewID())
	b.post(seasonPath(ts.two, "checks"), plainCheck("temperature", "warm", "key", key, "chiller", "not_fitted")).want(t,
		303)
	b.demoSignIn("class").want(t, 303)
	b.get(req.PendingPath).want(t, 200, "morning check").lacks(t, "not_fitted")
	b.decide(t, "save").want(t, 422)
	if n := ts.waiting(ts.class); n != 1 {
		t.Fatalf("%d wait after a problem was shown", n)
	}
	// Another check of the same tank does not take its place.
	b.post(seasonPath(ts.two, "checks"), plainCheck("on", "2026-02-08", "key", string(logbook.NewID()))).want(t, 303)
	if n := ts.waiting(ts.class); n != 1 {
		t.Fatalf("%d wait after another check", n)
	}
	b.post(seasonPath(ts.two, "checks"), plainCheck("temperature", "7", "key", key)).want(t, 303)
	if n := ts.waiting(ts.class); n != 0 {
		t.Errorf("%d wait after it was stored", n)
	}
}

// A tablet that was paired before browsers were known keeps what it sends once its
// pairing has ended, after one visit.
func TestEarlierTabletIsKnownAtItsNextVisit(t *testing.T) {
	ts := newTestServer(t)
	tablet := ts.pairedTablet(ts.alder.ID)
	b := tablet.browser()
	b.get("/today").want(t, 200)
	ts.must(ts.DB.RevokeDevice(t.Context(), ts.keeper, tablet.device.ID, testNow))
	b.post(seasonPath(ts.one, "checks"), plainCheck()).want(t, 303)
	if n := ts.waiting(ts.class); n != 1 {
		t.Errorf("%d entries of the tablet wait", n)
	}
	if n := ts.sqlCount("SELECT count(*) FROM known_browser"); n != 1 {
		t.Errorf("known %d times", n)
	}
}
