package web

import (
	"strings"
	"testing"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

func TestCorrection(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	p := b.post(seasonPath(ts.one, "checks"), plainCheck("temperature", "45.5 F", "note", "first <i>look</i>")).want(t,
		303)
	form := b.get(p.Location+"/correct").want(t, 200, `value="45.5 F"`, `value="Group 3"`, "first &lt;i&gt;look",
		"read wrong", "wrong day")
	f := plainCheck("temperature", "8.5", "note", "second look")
	f.Set("revision", form.hidden().Get("revision"))

	b.post(p.Location+"/correct", f).want(t, 422, "Choose why it is changed.", `value="8.5"`, "second look")
	f.Set("reason", "other")
	b.post(p.Location+"/correct", f).want(t, 422, "Write in a few words")
	f.Set("reason_text", "thermometer upside down")
	b.post(p.Location+"/correct", f).want(t, 303)

	shown := b.get(p.Location).want(t, 200, "corrected once", "8.5\u00a0°C", "another reason: thermometer upside down",
		"first &lt;i&gt;look", "Before the corrections", "7.5\u00a0°C (typed: 45.5 F")
	shown.lacks(t, "entered late")
	c := ts.load(ts.one).Checks[0]
	if c.Revision != 2 || c.Temperature != units.Some[units.Celsius](8.5) ||
		c.Reason != "other: thermometer upside down" {
		t.Errorf("stored %+v", c)
	}
	// Nothing different: nothing is changed and no reason is spent.
	f = plainCheck("temperature", "8.5", "note", "second look", "revision", "2", "reason", "misread")
	b.post(p.Location+"/correct", f).want(t, 303)
	b.get(p.Location).want(t, 200, "Nothing was different", "corrected once")
}

// Requirement O6: a stale correction never wins silently; both are shown and
// what was typed goes on.
func TestStaleCorrection(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	p := b.post(seasonPath(ts.one, "checks"), plainCheck()).want(t, 303)
	b.post(p.Location+"/correct", plainCheck("temperature", "8", "revision", "1", "reason", "misread")).want(t, 303)

	mine := plainCheck("temperature", "9", "note", "mine", "revision", "1", "reason", "wrong_unit", "reason_text",
		"was F")
	stale := b.post(p.Location+"/correct", mine).want(t, 409, "Somebody changed this entry", "8.0\u00a0°C",
		"9.0\u00a0°C", "mine", "read wrong", "Save mine", "Keep what is stored")
	if c := ts.load(ts.one).Checks[0]; c.Temperature.V != 8 {
		t.Fatalf("overwritten with %v", c.Temperature)
	}
	kept := stale.hidden()
	if kept.Get("reason") != "wrong_unit" || kept.Get("reason_text") != "was F" || kept.Get("note") != "mine" ||
		kept.Get("revision") != "2" {
		t.Errorf("carried on: %v", kept)
	}
	b.post(p.Location+"/correct", kept).want(t, 303)
	if c := ts.load(ts.one).Checks[0]; c.Temperature.V != 9 || c.Revision != 3 || c.Reason != "wrong_unit: was F" {
		t.Errorf("stored %+v", c)
	}
	b.get(p.Location).want(t, 200, "corrected 2 times")
	b.post(p.Location+"/correct", plainCheck("temperature", "9.5", "revision", "x", "reason", "misread")).want(t, 422,
		"Somebody changed this")
}

// A correction that moves a check to a day that has one.
func TestCorrectionToATakenDay(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	b.post(seasonPath(ts.one, "checks"), plainCheck("on", "2026-02-09", "temperature", "7.1")).want(t, 303)
	p := b.post(seasonPath(ts.one, "checks"), plainCheck()).want(t, 303)
	moved := b.post(p.Location+"/correct", plainCheck("on", "2026-02-09", "revision", "1", "reason",
		"wrong_date")).want(t, 409, "7.1\u00a0°C", "7.5\u00a0°C", `name="slot" value="extra"`)
	f := moved.hidden()
	f.Set("slot", "extra")
	b.post(p.Location+"/correct", f).want(t, 303)
	s := ts.load(ts.one)
	if len(s.Checks) != 2 || s.Checks[1].On.String() != "2026-02-09" || s.Checks[1].Slot != "extra" {
		t.Errorf("stored %+v", s.Checks)
	}
}

func TestVoid(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	p := b.post(seasonPath(ts.one, "checks"), plainCheck("dead_eggs", "4")).want(t, 303)
	b.get(p.Location+"/void").want(t, 200, "no longer counts", "7.5\u00a0°C")
	b.post(p.Location+"/void", fields("revision", "1")).want(t, 422, "Choose why")
	b.post(p.Location+"/correct", plainCheck("temperature", "8", "dead_eggs", "4", "revision", "1", "reason",
		"misread")).want(t, 303)
	again := b.post(p.Location+"/void", fields("revision", "1", "reason", "wrong_tank")).want(t, 409,
		"Somebody changed this", "8.0\u00a0°C")
	b.post(p.Location+"/void", fields("revision", again.hidden().Get("revision"), "reason", "wrong_tank")).want(t, 303)
	b.get(p.Location).want(t, 200, "taken back", "wrong tank", "corrected once").lacks(t, p.Location+"/correct")
	for _, path := range []string{"/correct", "/void"} {
		b.get(p.Location+path).want(t, 409, "taken back")
	}
	b.post(p.Location+"/correct", plainCheck("revision", "3", "reason", "misread")).want(t, 409)
	s := ts.load(ts.one)
	if len(s.Checks) != 0 || len(s.Voided) != 1 || s.TotalsOn(s.Voided[0].On).Dead != 0 {
		t.Errorf("still counts: %+v", s)
	}
	// The slot is free again.
	b.post(seasonPath(ts.one, "checks"), plainCheck()).want(t, 303)
}

// What a class may correct: today's check of their school that a class entered.
func TestClassLimits(t *testing.T) {
	ts := newTestServer(t)
	class, keeper := ts.as(ts.class), ts.as(ts.keeper)
	mine := class.post(seasonPath(ts.one, "checks"), plainCheck()).want(t, 303).Location
	old := class.post(seasonPath(ts.one, "checks"), plainCheck("on", "2026-02-09")).want(t, 303).Location
	keepers := keeper.post(seasonPath(ts.two, "checks"), plainCheck()).want(t, 303).Location

	class.get(mine).want(t, 200, "/correct#temperature")
	class.get(mine+"/correct").want(t, 200)
	class.get(mine+"/void").want(t, 200)
	class.post(mine+"/correct", plainCheck("temperature", "7.8", "revision", "1", "reason", "misread")).want(t, 303)
	for _, path := range []string{old, keepers} {
		class.get(path).want(t, 200).lacks(t, "/correct")
		class.get(path+"/correct").want(t, 403, "Ask your keeper")
		class.get(path+"/void").want(t, 403)
		class.post(path+"/correct", plainCheck("temperature", "9", "revision", "1", "reason", "misread")).want(t, 403)
		class.post(path+"/void", fields("revision", "1", "reason", "misread")).want(t, 403)
		keeper.get(path+"/correct").want(t, 200)
	}
	class.get(seasonPath(ts.one, "events/new")).want(t, 403)
	class.post(seasonPath(ts.one, "events"), fields("kind", "filter_rinse", "on", testDay)).want(t, 403)
}

// Rows of another school are not there, for every page and every role (S7).
func TestOtherSchoolIsNotFound(t *testing.T) {
	ts := newTestServer(t)
	birch := ts.as(ts.birchKeeper)
	far := birch.post(seasonPath(ts.far, "checks"), plainCheck("temperature", "45.5")).want(t, 303).Location
	event := birch.post(seasonPath(ts.far, "events"), fields("kind", "filter_rinse", "on", testDay)).want(t,
		303).Location
	for _, a := range []logbook.Actor{ts.keeper, ts.class} {
		b := ts.as(a)
		for _, path := range []string{seasonPath(ts.far, "checks/new"), far, far + "/correct", far + "/void"} {
			b.get(path).want(t, 404).lacks(t, "Birch", "45.5")
		}
		b.post(seasonPath(ts.far, "checks"), plainCheck()).want(t, 404)
		b.post(far+"/correct", plainCheck("revision", "1", "reason", "misread")).want(t, 404)
		b.post(far+"/void", fields("revision", "1", "reason", "misread")).want(t, 404)
	}
	b := ts.as(ts.keeper)
	for _, path := range []string{event, event + "/correct", event + "/void", seasonPath(ts.far, "events/new"),
		seasonPath(ts.far, "events/new?kind=release")} {
		b.get(path).want(t, 404).lacks(t, "Birch")
	}
	b.post(seasonPath(ts.far, "events"), fields("kind", "filter_rinse", "on", testDay)).want(t, 404)
	ts.as(ts.coordinator).get(far).want(t, 200)
	b.get("/checks/"+strings.Repeat("a", 26)).want(t, 404)
	b.get("/checks/x").want(t, 404)
}

func (b *browser) demoSignIn(role string) page {
	return b.post("/demo/sign-in", fields("role", role))
}

func TestLateEntryIsMarked(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	p := b.post(seasonPath(ts.one, "checks"), plainCheck("on", "2026-02-06")).want(t, 303)
	b.get(p.Location).want(t, 200, "entered late")
	ts.at(testNow.Add(-24 * time.Hour))
	b.lang = "fr"
	b.get(p.Location).want(t, 200, "saisie tardive")
}
