package web

import (
	"strings"
	"testing"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

func TestEveryKindOfEvent(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	list := b.get(seasonPath(ts.one, "events/new")).want(t, 200, "What was done at Tank 1?", "deliveries/new")
	for _, x := range []struct {
		kind  logbook.EventKind
		needs []string // names and values
		shown string
	}{
		{logbook.WaterChange, []string{"litres", "60,5"}, "60.5\u00a0L"},
		{logbook.FilterRinse, nil, "filter rinsed"},
		{logbook.SetpointChange, []string{"setpoint", "45.5 F"}, "7.5\u00a0°C"},
		{logbook.BasketOpened, nil, "let out of the basket"},
		{logbook.FirstFeed, []string{"mean_g", "0,18"}, "0.18\u00a0g"},
		{logbook.MovedIn, []string{"count", "20", "place", "Tank 2"}, "Tank 2"},
		{logbook.MovedOut, []string{"count", "5", "place", "Tank 2"}, "5"},
		{logbook.SampleTaken, []string{"count", "2"}, "2"},
		{logbook.PowerCut, []string{"hours", "3.5"}, "3.5"},
		{logbook.Treatment, []string{"product", "sea salt", "dose", "2,5", "dose_unit", "g_l"}, "sea salt"},
		{logbook.Counted, []string{"count", "0"}, "0"},
		{logbook.Released, []string{"count", "150", "place", "Aldermoss", "permit", "P-7", "note",
			"the count was wrong"}, "P-7"},
	} {
		if !strings.Contains(list.Body, "kind="+string(x.kind)+`"`) {
			t.Errorf("%s is not offered", x.kind)
		}
		form := b.get(seasonPath(ts.one, "events/new?kind="+string(x.kind))).want(t, 200, `value="`+string(x.kind)+`"`)
		for i := 0; i < len(x.needs); i += 2 {
			if !strings.Contains(form.Body, `name="`+x.needs[i]+`"`) {
				t.Errorf("%s does not ask for %s", x.kind, x.needs[i])
			}
		}
		form.lacks(t, "[event", "[check", "<no value>")
		f := fields(append([]string{"kind", string(x.kind), "on", testDay, "observer", "Keeper"}, x.needs...)...)
		f.Set("key", form.hidden().Get("key"))
		p := b.post(seasonPath(ts.one, "events"), f).want(t, 303)
		b.get(p.Location).want(t, 200, `role="status"`, "Saved at Tank 1", x.shown, p.Location+"/correct").lacks(t,
			"[event", "<no value>")
		// The same form again is the same event.
		if again := b.post(seasonPath(ts.one, "events"), f).want(t, 303); again.Location != p.Location {
			t.Errorf("%s stored twice", x.kind)
		}
	}
	if n := len(ts.load(ts.one).Events); n != len(logbook.EventKinds()) {
		t.Errorf("%d events stored, want %d", n, len(logbook.EventKinds()))
	}
}

func TestEventProblems(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	for _, x := range []struct {
		change []string
		field  string
		text   string
	}{
		{[]string{"kind", "water_change"}, "litres", "between 0.1 and 10"},
		{[]string{"kind", "water_change", "litres", "much"}, "litres", "must be a number"},
		{[]string{"kind", "setpoint_change", "setpoint", "25"}, "setpoint", "between"},
		{[]string{"kind", "moved_in", "count", "0"}, "count", "whole number between 1"},
		{[]string{"kind", "release", "count", "1,500"}, "count", "without comma"},
		{[]string{"kind", "power_cut", "hours", "300"}, "hours", "between 0 and 240"},
		{[]string{"kind", "filter_rinse", "on", "2026-03-01"}, "on", "still to come"},
		{[]string{"kind", "filter_rinse", "on", "other"}, "on", "Enter the date"},
		{[]string{"kind", "filter_rinse", "time", "late"}, "time", "like 08:10"},
		{[]string{"kind", "treatment", "note", "salt bath"}, "product", "Enter the product"},
		{[]string{"kind", "treatment", "product", "salt", "dose", "2"}, "dose_unit", "Choose the unit"},
		{[]string{"kind", "treatment", "product", "salt", "dose", "-2", "dose_unit", "g_l"}, "dose", "between"},
		{[]string{"kind", "treatment", "product", "salt", "days_before_release", "400"}, "days_before_release",
			"between 0 and 365"},
		{[]string{"kind", "treatment", "product", "salt", "note", strings.Repeat("n", 2001)}, "note", "too long"},
	} {
		f := fields("on", testDay, "observer", "Keeper 1")
		for i := 0; i < len(x.change); i += 2 {
			f.Set(x.change[i], x.change[i+1])
		}
		p := b.post(seasonPath(ts.one, "events"), f).want(t, 422, x.text, `href="#`+x.field+`"`, `id="`+x.field+
			`-problem"`, `value="Keeper 1"`, "<title>Error: ")
		for i := 2; i < len(x.change); i += 2 {
			if v := x.change[i+1]; x.change[i] != "on" && !strings.Contains(p.Body, v) {
				t.Errorf("%q is lost", v)
			}
		}
	}
	if n := len(ts.load(ts.one).Events); n != 0 {
		t.Errorf("%d events stored all the same", n)
	}
	// An unknown kind asks for the kind again.
	b.post(seasonPath(ts.one, "events"), fields("kind", "party", "on", testDay)).want(t, 200,
		"What was done at Tank 1?")
}

func TestEventCorrectionAndVoid(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	key := string(logbook.NewID())
	f := fields("kind", "water_change", "on", testDay, "litres", "60", "key", key)
	p := b.post(seasonPath(ts.one, "events"), f).want(t, 303)

	// The Back button and other values: the person says whether it was done twice.
	f.Set("litres", "65")
	again := b.post(seasonPath(ts.one, "events"), f).want(t, 422, "was saved before", `value="65"`)
	if again.hidden().Get("key") == key {
		t.Error("the used key is offered again")
	}

	form := b.get(p.Location+"/correct").want(t, 200, `value="60"`, "read wrong").hidden()
	fix := fields("on", testDay, "litres", "50", "revision", form.Get("revision"))
	b.post(p.Location+"/correct", fix).want(t, 422, "Choose why", `value="50"`)
	fix.Set("reason", "misread")
	b.post(p.Location+"/correct", fix).want(t, 303)
	b.get(p.Location).want(t, 200, "corrected once", "50\u00a0L", "60\u00a0L", "read wrong")
	e := ts.load(ts.one).Events[0]
	if e.Kind != logbook.WaterChange || e.Litres != units.Some[units.Litres](50) || e.Reason != "misread" {
		t.Errorf("stored %+v", e)
	}

	fix.Set("litres", "40")
	stale := b.post(p.Location+"/correct", fix).want(t, 409, "50\u00a0L", "40\u00a0L", "Save mine").hidden()
	b.post(p.Location+"/correct", stale).want(t, 303)
	if e := ts.load(ts.one).Events[0]; e.Litres.V != 40 || e.Revision != 3 {
		t.Errorf("stored %+v", e)
	}

	b.post(p.Location+"/void", fields("revision", "3")).want(t, 422, "Choose why")
	b.post(p.Location+"/void", fields("revision", "2", "reason", "wrong_tank")).want(t, 409, "Somebody changed this")
	b.post(p.Location+"/void", fields("revision", "3", "reason", "wrong_tank")).want(t, 303)
	b.get(p.Location).want(t, 200, "taken back", "corrected 2 times").lacks(t, p.Location+"/correct")
	b.get(p.Location+"/correct").want(t, 409, "taken back")
	if n := len(ts.load(ts.one).Events); n != 0 {
		t.Error("still counts")
	}
}
