package web

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

func (ts *testServer) alive(s *logbook.Season) int {
	n := 0
	for _, d := range ts.load(s).Deliveries {
		n += d.Count
	}
	return n
}

// TestDeliveryIsOneHoweverOftenItIsSent: a double tap and the Back button store
// one delivery, and the flags that follow are stored with it.
func TestDeliveryIsOneHoweverOftenItIsSent(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	f := b.get(seasonPath(ts.one, "deliveries/new")).want(t, 200).hidden()
	for k, v := range map[string]string{"on": testDay, "count": "100"} {
		f.Set(k, v)
	}
	f.Set("method", string(logbook.ByHand))
	if have := ts.storedFlags(ts.one); len(have) > 0 {
		t.Fatalf("flags before: %q", have)
	}
	b.post(seasonPath(ts.one, "deliveries"), f).want(t, 303)
	if len(ts.storedFlags(ts.one)) == 0 {
		t.Error("a tank with eggs and no check has no flag")
	}
	b.post(seasonPath(ts.one, "deliveries"), f).want(t, 303)
	if n := ts.alive(ts.one); n != 300 {
		t.Errorf("%d eggs, want 200 and 100", n)
	}
	f.Set("count", "90")
	again := b.post(seasonPath(ts.one, "deliveries"), f).want(t, 422, "Save again only if there was a second delivery")
	if n := ts.alive(ts.one); n != 300 {
		t.Errorf("%d eggs after the Back button, want 300", n)
	}
	f.Set("key", again.hidden().Get("key"))
	b.post(seasonPath(ts.one, "deliveries"), f).want(t, 303)
	if n := ts.alive(ts.one); n != 390 {
		t.Errorf("%d eggs, want 390", n)
	}
}

// TestDeliveryIsTakenBackOnItsPage, with a reason, from the revision that was
// shown; the tank's log links there.
func TestDeliveryIsTakenBackOnItsPage(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	d := ts.load(ts.one).Deliveries[0]
	path := "/deliveries/" + string(d.ID)
	b.get(path+"/correct").want(t, 200, path+"/void")
	ask := b.get(path+"/void").want(t, 200, "Take back a delivery of Tank 1", "200").lacks(t, "[delivery")
	b.post(path+"/void", ask.hidden()).want(t, 422, `id="summary"`)
	f := ask.hidden()
	f.Set("reason", "misread")
	f.Set("revision", "7")
	b.post(path+"/void", f).want(t, 409)
	f.Set("revision", fmt.Sprint(d.Revision))
	to := b.post(path+"/void", f).want(t, 303).Location
	b.get(to).want(t, 200, "Taken back. It stays readable")
	if n := len(ts.load(ts.one).Deliveries); n != 0 {
		t.Errorf("%d deliveries count", n)
	}
	kept, err := ts.DB.Delivery(t.Context(), d.ID)
	ts.must(err)
	if !kept.Voided || kept.Reason != "misread" {
		t.Errorf("kept as %+v", kept.Entry)
	}
	b.get(path+"/void").want(t, 409)
	ts.as(ts.birchKeeper).get(path+"/void").want(t, 404)
}

// storedFlags are rule and subject of the flags of a season that are stored as
// open, sorted.
func (ts *testServer) storedFlags(s *logbook.Season) []string {
	ts.t.Helper()
	open, err := ts.DB.Flags(ts.t.Context(), s.ID, false)
	ts.must(err)
	var out []string
	for _, f := range open {
		out = append(out, f.Rule+" "+f.Subject)
	}
	slices.Sort(out)
	return out
}

// TestSeasonIsOneHoweverOftenItIsSent: the form of a new season that is sent twice
// starts one season with one delivery; sent once more with other eggs it asks.
func TestSeasonIsOneHoweverOftenItIsSent(t *testing.T) {
	ts := newTestServer(t)
	tank, err := ts.DB.CreateTank(t.Context(), ts.coordinator, logbook.Tank{SiteID: ts.alder.ID, Name: "Spare",
		Volume: 100,
		Wall:   logbook.BareGlass}, testNow, store.IdempotencyKey{})
	ts.must(err)
	b, path := ts.as(ts.coordinator), "/tanks/"+string(tank.ID)+"/seasons"
	f := b.get(path+"/new").want(t, 200).typedIn(t, path)
	for name, v := range map[string]string{"lot": string(ts.lot.ID), "on": "2026-02-01", "count": "120",
		"method": "by_hand", "stage": "eyed_egg"} {
		f.Set(name, v)
	}
	first := b.post(path, f).want(t, 303)
	again := b.post(path, f).want(t, 303)
	if first.Location != again.Location {
		t.Errorf("seasons %s and %s", first.Location, again.Location)
	}
	s, err := ts.DB.LoadSeason(t.Context(), logbook.ID(strings.TrimPrefix(first.Location, "/seasons/")))
	ts.must(err)
	if len(s.Deliveries) != 1 || s.Deliveries[0].Count != 120 {
		t.Errorf("deliveries %+v", s.Deliveries)
	}
	f.Set("count", "150")
	if p := b.post(path, f).want(t, 422); p.doc(t).Find(`#summary a[href="#on"]`).Length() != 1 {
		t.Errorf("the same form with other eggs: %.300s", plainText(p.Body))
	}
}
