package web

import (
	"io"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// step sends one step of a guided page as a browser does, with the hidden fields
// of the page it saw.
func (b *browser) step(t *testing.T, path, step string, pairs ...string) page {
	t.Helper()
	f := b.get(path+"?step="+step).want(t, 200).hidden()
	for i := 0; i < len(pairs); i += 2 {
		f.Set(pairs[i], pairs[i+1])
	}
	return b.post(path, f)
}

// restart closes the logbook and opens it again, as after a power cut.
func (ts *testServer) restart() {
	ts.t.Helper()
	dir := filepath.Dir(ts.db.Path())
	ts.must(ts.db.Close())
	db, err := store.Open(ts.t.Context(), dir, store.Options{Now: testNow})
	ts.must(err)
	ts.t.Cleanup(func() { _ = db.Close() })
	ts.Server, err = New(Options{DB: db, Clock: ts.clockAt, Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
	ts.must(err)
}

func TestReleaseStepByStep(t *testing.T) {
	ts := newTestServer(t)
	path := seasonPath(ts.one, "release")
	b := ts.as(ts.keeper)
	b.get(path).want(t, 200, "Release day of Tank 1", "Never release fish after deaths", `name="yolk_gone"`)
	b.step(t, path, "ready", "yolk_gone", "yes").want(t, 303)
	b.step(t, path, "permit", "latitude", "95", "permit", "P 77").want(t, 422, "between", `value="P 77"`)
	b.step(t, path, "permit", "permit", "P 77", "place", "Invented Brook, old bridge", "latitude", "45.5", "longitude", "-63.25", "who", "Group 3").want(t, 303)
	b.step(t, path, "count", "count", "many").want(t, 422, "whole number", `value="many"`)
	b.step(t, path, "count", "count", "187", "stayed", "0").want(t, 303)

	// The second person does not see the first count, on any page.
	for _, step := range []string{"count", "second", "size", "finish"} {
		b.get(path+"?step="+step).want(t, 200).lacks(t, "187")
	}

	// A restart of the server and another browser lose nothing.
	ts.restart()
	b = ts.as(ts.keeper)
	b.get(path+"?step=permit").want(t, 200, `value="P 77"`, `value="-63.25"`)
	b.get(path+"?step=third").want(t, 200, "Are they ready") // no third look yet
	if p := b.step(t, path, "second", "second", "185").want(t, 303); !strings.HasSuffix(p.Location, "step=third") {
		t.Errorf("after a mismatch: %s", p.Location)
	}
	b.step(t, path, "finish").want(t, 422, "A third look is needed")
	b.step(t, path, "third", "third", "186").want(t, 303)
	b.get(path+"?step=size").want(t, 200, "Not explained: 14") // 200 - 186 - 0
	b.step(t, path, "size", "mean_g", "0.35", "mean_mm", "32").want(t, 303)
	b.step(t, path, "trip", "container", "20", "water", "10", "outside", "22", "hours", "1.5").want(t, 303)
	// 186 x 0.35 g in 20 L is 3.255; and 3600 x 12 / (334000 + 4186 x 10) kg/h for 1.5 h by the formula of the handbook.
	b.get(path+"?step=trip").want(t, 200, "3.26 g", "0.172", "sealed bottles")
	b.step(t, path, "stream", "bucket", "14", "stream", "8", "on", "2026-02-09").want(t, 303)
	// 6 C in steps of 20 % to within 1 C: nine steps (science of the way to the stream).
	b.get(path+"?step=stream").want(t, 200, "9 steps", "can kill", "Tennessee", "inside this limit")

	// Two people at once: the later one is told.
	old := b.get(path + "?step=permit").hidden()
	b.step(t, path, "permit", "permit", "P 77", "place", "Invented Brook", "latitude", "45.5", "longitude", "-63.25", "who", "Group 3", "water_body", "Invented River").want(t, 303)
	old.Set("permit", "P 78")
	b.post(path, old).want(t, 409, "Somebody else saved this page", `value="P 78"`)

	b.get(path+"?step=finish").want(t, 200, "A permit form may still ask for", "Purpose", "Stock of the lot")
	form := b.get(path + "?step=finish").hidden()
	form.Set("close", "yes")
	b.post(path, form).want(t, 303)
	s := ts.load(ts.one)
	if len(s.Events) != 2 || s.ClosedOn != civil.MustParse("2026-02-09") {
		t.Fatalf("stored %+v, closed %v", s.Events, s.ClosedOn)
	}
	for _, e := range s.Events {
		if e.Kind == logbook.Released && (e.Count.V != 186 || e.Permit != "P 77" || e.MeanG.V != 0.35 ||
			e.Place != "Invented Brook (45.50000, -63.25000)" || !strings.Contains(e.Note, "187, then 185")) {
			t.Errorf("release %+v", e)
		}
	}
	if tot := s.TotalsOn(civil.MustParse("2026-02-10")); tot.Released != 186 || tot.Unexplained != 14 || tot.Alive != 0 {
		t.Errorf("totals %+v", tot)
	}
	// The same form again, by the Back button: nothing more is stored.
	b.post(path, form).want(t, 409)
	if n := len(ts.load(ts.one).Events); n != 2 {
		t.Errorf("%d events", n)
	}
}

func TestReleaseNeedsReasons(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	path := seasonPath(ts.one, "release")
	count := func(n string, finish ...string) page {
		b.step(t, path, "count", "count", n).want(t, 303)
		b.step(t, path, "second", "second", n).want(t, 303)
		return b.step(t, path, "finish", finish...)
	}
	count("201").want(t, 422, "201 fish are more than the 200")
	if n := len(ts.load(ts.one).Events); n != 0 {
		t.Fatalf("%d events stored all the same", n)
	}
	count("0").want(t, 422, "whole number between 1")
	count("150").want(t, 303)
	count("20").want(t, 422, "150 fish were released on", "Write why there is another")
	count("20", "reason_again", "second class trip").want(t, 422, "more than the 0") // the count said that none stayed
	count("20", "reason_again", "second class trip", "reason_more", "found behind the filter").want(t, 303)
	s := ts.load(ts.one)
	if tot := s.TotalsOn(civil.MustParse("2026-02-10")); tot.Released != 170 || !tot.Balanced() {
		t.Errorf("totals %+v", tot)
	}

	// Before the delivery.
	two := seasonPath(ts.two, "release")
	b.step(t, two, "count", "count", "10").want(t, 303)
	b.step(t, two, "second", "second", "10").want(t, 303)
	b.step(t, two, "stream", "on", "2026-01-02").want(t, 303)
	b.step(t, two, "finish").want(t, 422, "January")
	b.step(t, two, "stream", "on", "2026-03-02").want(t, 303)
	b.step(t, two, "finish").want(t, 422, "still to come")
	b.step(t, two, "stream", "on", "").want(t, 303)
	b.step(t, two, "count", "stayed", "5").want(t, 303)
	b.step(t, two, "finish", "close", "yes").want(t, 422, "5 fish stay in the tank")
	if n := len(ts.load(ts.two).Events); n != 0 {
		t.Errorf("%d events", n)
	}
	b.get(seasonPath(ts.far, "release")).want(t, 404)
}

func TestReleaseComingUp(t *testing.T) {
	ts := newTestServer(t)
	s := *ts.load(ts.one)
	s.ReleaseFrom, s.ReleaseBy = civil.MustParse("2026-03-03"), civil.MustParse("2026-03-20")
	_, err := ts.db.UpdateSeason(t.Context(), ts.keeper, s, testNow)
	ts.must(err)
	ts.as(ts.keeper).get(pathOf(ts.one)).want(t, 200, "Release may start on 3 March 2026", "Permit number", seasonPath(ts.one, "release"))
	ts.as(ts.class).get(pathOf(ts.one)).want(t, 200).lacks(t, "Release may start")
	later := *ts.load(ts.one)
	later.ReleaseFrom = civil.MustParse("2026-03-04") // 22 days ahead
	_, err = ts.db.UpdateSeason(t.Context(), ts.keeper, later, testNow)
	ts.must(err)
	ts.as(ts.keeper).get(pathOf(ts.one)).want(t, 200).lacks(t, "Release may start")
}

func TestDeliveryDay(t *testing.T) {
	ts := newTestServer(t)
	tank, err := ts.db.CreateTank(t.Context(), ts.keeper, logbook.Tank{SiteID: ts.alder.ID, Name: "Tank 3", Volume: 200, Wall: logbook.Insulated}, testNow, store.Once{})
	ts.must(err)
	path := "/tanks/" + string(tank.ID) + "/delivery-day"
	b := ts.as(ts.keeper)
	b.get("/sites/"+string(ts.alder.ID)).want(t, 200, path)
	b.get(path).want(t, 200, "Delivery day of Tank 3")
	b.step(t, path, "eggs", "lot", "none").want(t, 422)
	b.step(t, path, "eggs", "lot", string(ts.lot.ID), "stage", "eyed_egg", "thermal_units", "310", "thermal_units_in", "Cel").want(t, 303)
	b.step(t, path, "temper", "pack_temperature", "4", "tank_temperature", "10").want(t, 303)
	b.get(path+"?step=temper").want(t, 200, "9 steps") // 6 C apart, as above
	b.get(path+"?step=iodophor").want(t, 200, "Only an adult").lacks(t, "mL of product")
	b.step(t, path, "iodophor", "stock_percent", "1", "bath_l", "3.7854").want(t, 303)
	b.get(path+"?step=iodophor").want(t, 200).lacks(t, "mL of product") // the supplier did not ask
	b.step(t, path, "iodophor", "asked", "yes", "stock_percent", "1", "bath_l", "3.7854").want(t, 303)
	b.get(path+"?step=iodophor").want(t, 200, "37.9 mL of product", "gloves") // about 38 mL per US gallon of a 1 % product (extension sheets, read)
	b.step(t, path, "finish").want(t, 422, "Choose a way of counting")
	// Rows of 12 in with 60 eggs: 8460 a US quart (printed table), so 8939 a litre.
	b.step(t, path, "count", "method", "by_trough", "row_mm", "304.8", "row_eggs", "60", "volume_l", "0.05").want(t, 303)
	b.get(path+"?step=count").want(t, 200, "447 eggs", "von Bayer")
	b.step(t, path, "count", "method", "by_weight", "lot_g", "55", "sample_n", "100", "sample_g", "11").want(t, 303)
	b.get(path+"?step=count").want(t, 200, "500 eggs")
	form := b.get(path + "?step=finish").hidden()
	p := b.post(path, form).want(t, 303)
	s, err := ts.db.LoadSeason(t.Context(), logbook.ID(strings.TrimPrefix(p.Location, "/seasons/")))
	ts.must(err)
	d := s.Deliveries[0]
	if d.Count != 500 || d.Method != logbook.ByWeight || d.ThermalUnits.V != 310 || d.PackTemperature.V != 4 || d.Stage != logbook.EyedEgg || !strings.Contains(d.Note, "sample") {
		t.Errorf("stored %+v", d)
	}
	b.post(path, form).want(t, 409)
	// A tank with an open season takes no second one.
	busy := "/tanks/" + string(ts.tank1.ID) + "/delivery-day"
	b.step(t, busy, "eggs", "lot", string(ts.lot.ID), "stage", "eyed_egg").want(t, 303)
	b.step(t, busy, "count", "method", "by_hand", "counted", "100").want(t, 303)
	f := b.get(busy + "?step=finish").hidden()
	b.post(busy, f).want(t, 422, "2025-26")
}
