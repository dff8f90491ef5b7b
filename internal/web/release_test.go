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
	"reddside/internal/units"
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
	dir := filepath.Dir(ts.DB.Path())
	ts.must(ts.DB.Close())
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
	b.step(t, path, "permit", "permit", "P 77", "place", "Invented Brook, old bridge", "latitude", "45.5", "longitude",
		"-63.25", "who", "Group 3").want(t, 303)
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
	b.step(t, path, "trip", "container", "20", "water", "10", "outside", "22", "hours", "1.5", "oxygen", "air",
		"transport", "a bucket").want(t, 303)
	// 186 x 0.35 g in 20 L is 3.255; and 3600 x 12 / (334000 + 4186 x 10) kg/h for 1.5 h by the formula of the
	// handbook.
	b.get(path+"?step=trip").want(t, 200, "3.26 g", "0.172", "sealed bottles")
	b.step(t, path, "stream", "bucket", "14", "stream", "8", "on", "2026-02-09", "left", "9:10", "arrived", "10:05",
		"temper_steps", "9").want(t, 303)
	// 6 C in steps of 20 % to within 1 C: nine steps (science of the way to the stream).
	b.get(path+"?step=stream").want(t, 200, "9 steps", "can kill", "WAIT: not yet", "differ by 5.6")

	// Two people at once: the later one is told.
	old := b.get(path + "?step=permit").hidden()
	b.step(t, path, "permit", "permit", "P 77", "place", "Invented Brook", "latitude", "45.5", "longitude", "-63.25",
		"who", "Group 3", "water_body", "Invented River", "life_stage", "fry", "health", "no").want(t, 303)
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
			e.Place != "Invented Brook" || e.Note != "") {
			t.Errorf("release %+v", e)
		}
	}
	if len(s.Releases) != 1 {
		t.Fatalf("%d records", len(s.Releases))
	}
	r := s.Releases[0]
	if s.ReleaseRecordOf(r.EventID) == nil || r.WaterBody != "Invented River" || r.Latitude != units.Some(45.5) ||
		r.Longitude != units.Some(-63.25) ||
		r.MeanMM.V != 32 || r.Container.V != 20 || r.Tank.V != 10 || r.Bucket.V != 14 || r.Stream.V != 8 ||
		r.LeftAt != "09:10" || r.ArrivedAt != "10:05" ||
		r.TemperSteps != units.Some(9) || r.First != units.Some(187) || r.Second != units.Some(185) ||
		r.Third != units.Some(186) ||
		r.Oxygen != logbook.AirStone || r.Health != logbook.HealthNo || r.LifeStage != logbook.Fry ||
		!strings.Contains(r.NotReady, "They swim up") {
		t.Errorf("record %+v", r)
	}
	if tot := s.TotalsOn(civil.MustParse("2026-02-10")); tot.Released != 186 || tot.Unexplained != 14 ||
		tot.Alive != 0 {
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
	_, err := ts.DB.UpdateSeason(t.Context(), ts.keeper, s, testNow)
	ts.must(err)
	ts.as(ts.keeper).get(pathOf(ts.one)).want(t, 200, "Release may start on 3 March 2026", "Permit number",
		seasonPath(ts.one, "release"))
	ts.as(ts.class).get(pathOf(ts.one)).want(t, 200).lacks(t, "Release may start")
	later := *ts.load(ts.one)
	later.ReleaseFrom = civil.MustParse("2026-03-04") // 22 days ahead
	_, err = ts.DB.UpdateSeason(t.Context(), ts.keeper, later, testNow)
	ts.must(err)
	ts.as(ts.keeper).get(pathOf(ts.one)).want(t, 200).lacks(t, "Release may start")
}

func TestDeliveryDay(t *testing.T) {
	ts := newTestServer(t)
	tank, err := ts.DB.CreateTank(t.Context(), ts.keeper, logbook.Tank{SiteID: ts.alder.ID, Name: "Tank 3", Volume: 200,
		Wall: logbook.Insulated}, testNow, store.IdempotencyKey{})
	ts.must(err)
	lot, err := ts.DB.CreateLot(t.Context(), ts.keeper, logbook.Lot{Code: "L7", Species: logbook.AtlanticSalmon,
		Supplier: "Test hatchery"}, testNow, store.IdempotencyKey{})
	ts.must(err)
	path := "/tanks/" + string(tank.ID) + "/delivery-day"
	b := ts.as(ts.keeper)
	b.get("/sites/"+string(ts.alder.ID)).want(t, 200, path)
	b.get(path).want(t, 200, "Delivery day of Tank 3", "/before-eggs").lacks(t, "[delivery", "<no value>")
	b.step(t, path, "eggs", "lot", "none").want(t, 422)
	b.step(t, path, "eggs", "lot", string(lot.ID), "stage", "eyed_egg", "thermal_units", "310", "thermal_units_in",
		"Cel", "on", "2026-02-02").want(t, 303)
	b.step(t, path, "temper", "pack_temperature", "4", "tank_temperature", "10").want(t, 303)
	b.get(path+"?step=temper").want(t, 200, "9 steps") // 6 C apart, as above
	b.get(path+"?step=iodophor").want(t, 200, "Only an adult").lacks(t, "mL of product")
	b.step(t, path, "iodophor", "stock_percent", "1", "bath_l", "3.7854").want(t, 303)
	b.get(path+"?step=iodophor").want(t, 200).lacks(t, "mL of product") // the supplier did not ask
	b.step(t, path, "iodophor", "asked", "yes", "stock_percent", "1", "bath_l", "3.7854").want(t, 303)
	// about 38 mL per US gallon of a 1 % product (extension sheets, read)
	b.get(path+"?step=iodophor").want(t, 200, "37.9 mL of product", "gloves")
	b.step(t, path, "finish").want(t, 422, "Choose a way of counting")
	// Rows of 12 in with 60 eggs: 8460 a US quart (printed table), so 8939 a litre.
	b.step(t, path, "count", "method", "by_trough", "row_mm", "304.8", "row_eggs", "60", "volume_l", "0.05").want(t,
		303)
	b.get(path+"?step=count").want(t, 200, "447 eggs", "von Bayer")
	b.step(t, path, "count", "method", "by_weight", "lot_g", "55", "sample_n", "100", "sample_g", "11").want(t, 303)
	b.get(path+"?step=count").want(t, 200, "500 eggs")
	form := b.get(path + "?step=finish").hidden()
	p := b.post(path, form).want(t, 303)
	s, err := ts.DB.LoadSeason(t.Context(), logbook.ID(strings.TrimPrefix(p.Location, "/seasons/")))
	ts.must(err)
	d := s.Deliveries[0]
	if d.Count != 500 || d.Method != logbook.ByWeight || d.ThermalUnits.V != 310 || d.PackTemperature.V != 4 ||
		d.Stage != logbook.EyedEgg || !strings.Contains(d.Note, "sample") {
		t.Errorf("stored %+v", d)
	}
	b.post(path, form).want(t, 409)
	// The rules have looked at once: what they say is stored, with no wait for the
	// pass of every ten minutes.
	a, err := ts.Assess.Assess(t.Context(), s, testNow)
	ts.must(err)
	open, err := ts.DB.Flags(t.Context(), s.ID, false)
	ts.must(err)
	if len(open) != len(a.Assessment.Flags) || len(open) == 0 {
		t.Errorf("%d flags stored, the rules say %d", len(open), len(a.Assessment.Flags))
	}
	// A tank with an open season takes no second one.
	busy := "/tanks/" + string(ts.tank1.ID) + "/delivery-day"
	b.step(t, busy, "eggs", "lot", string(lot.ID), "stage", "eyed_egg").want(t, 303)
	b.step(t, busy, "count", "method", "by_hand", "counted", "100").want(t, 303)
	f := b.get(busy + "?step=finish").hidden()
	b.post(busy, f).want(t, 422, "2025-26")
}

// What is recorded stands in the report, in the CSV, in the JSON and in the
// export; a correction keeps the old form.
func TestReleaseRecordEverywhere(t *testing.T) {
	f := newFullServer(t)
	id := f.ids["releaseID"]
	b := f.as(f.keeper)
	path := "/releases/" + id + "/correct"
	form := b.get(path).want(t, 200, `value="Invented River"`, `value="45.5"`).hidden()
	old := b.get(path).hidden()
	for name, value := range map[string]string{"water_body": "Invented Creek", "stream": "46.4 F", "mean_mm": "31",
		"latitude": "45,25", "oxygen": "air", "health": "yes"} {
		form.Set(name, value)
	}
	b.post(path, form).want(t, 422, `value="Invented Creek"`) // no reason yet
	form.Set("reason", "misread")
	b.post(path, form).want(t, 303)
	r := f.load(f.one).Releases[0]
	if r.WaterBody != "Invented Creek" || r.Latitude != units.Some(45.25) || units.Round(float64(r.Stream.V), 6) != 8 ||
		r.Revision != 2 {
		t.Errorf("corrected %+v", r)
	}
	past, err := f.DB.RowHistory(t.Context(), r.ID)
	f.must(err)
	if len(past) != 1 || !strings.Contains(string(past[0].Row), "Invented River") || past[0].Reason != "misread" {
		t.Errorf("history %+v", past)
	}
	old.Set("reason", "misread")
	b.post(path, old).want(t, 409, "Somebody changed this in the meantime", "changed this to: Invented Creek")
	b.get(seasonPath(f.one, "report")).want(t, 200, "Invented Creek", "Release record",
		"A permit form may still ask for", "Purpose of the release", "earlier form is kept")
	rows := csvRows(t, b.get(seasonPath(f.one, "report?format=csv")).want(t, 200).Body, ',')
	found := false
	for _, row := range rows {
		found = found || strings.Join(row, "|") == "release_record|2026-02-08|stream_water|8|Cel"
	}
	if !found {
		t.Error("the stream is not in the CSV file")
	}
	c := f.program(f.keeper)
	if p := c.get("/seasons/"+f.ids["seasonID"]).want(t, 200); p.str(t, "releases", 0,
		"water_body") != "Invented Creek" {
		t.Errorf("JSON: %s", p.Body)
	}
	c.post("/seasons/"+f.ids["seasonID"]+"/releases", `{"event_id":"`+f.ids["eventID"]+
		`","latitude":91,"left_at":"late"}`).
		wantProblem(t, 422, "event_id", "").wantProblem(t, 422, "latitude", "").wantProblem(t, 422, "left_at", "")
	c.post("/seasons/"+f.ids["seasonID"]+"/releases", `{"event_id":"`+string(r.EventID)+
		`","purpose":"other"}`).wantProblem(t, 409, "", "release.recorded")
	tables, _ := unzip(t, c.get("/export").want(t, 200))
	if len(tables["releases"]) != 1 || tables["releases"][0]["water_body"] != "Invented Creek" ||
		tables["releases"][0]["event_id"] != string(r.EventID) {
		t.Errorf("export %v", tables["releases"])
	}
	// Taken back with its event, it is no longer part of the season but stays in the export.
	_, err = f.DB.VoidEvent(t.Context(), f.keeper, r.EventID, 1, "wrong tank", testNow, nil)
	f.must(err)
	if n := len(f.load(f.one).Releases); n != 0 {
		t.Errorf("%d records", n)
	}
	if tables, _ := unzip(t, c.get("/export").want(t, 200)); len(tables["releases"]) != 1 {
		t.Errorf("export %v", tables["releases"])
	}
	f.as(f.birchKeeper).get(path).want(t, 404)
}

// The plain form and the JSON interface ask for a reason as the guided page does.
func TestReleaseByFormNeedsReasons(t *testing.T) {
	ts := newTestServer(t)
	b, c := ts.as(ts.keeper), ts.program(ts.keeper)
	post := func(pairs ...string) page {
		return b.post(seasonPath(ts.one, "events"),
			fields(append([]string{"kind", "release", "on", testDay}, pairs...)...))
	}
	post("count", "201").want(t, 422, "201 fish are more than the 200", `href="#note"`)
	form := fields("kind", "release", "on", testDay, "count", "120", "key", string(logbook.NewID()))
	p := b.post(seasonPath(ts.one, "events"), form).want(t, 303)
	if again := b.post(seasonPath(ts.one, "events"), form).want(t, 303); again.Location != p.Location {
		t.Error("a double tap is two releases")
	}
	post("count", "20").want(t, 422, "120 fish were released on")
	path := "/seasons/" + string(ts.one.ID) + "/events"
	c.post(path, `{"kind":"release","on":"2026-02-10","count":20}`).wantProblem(t, 422, "note", "release.again")
	c.post(path, `{"kind":"release","on":"2026-01-02","count":20,"note":"x"}`).wantProblem(t, 422, "on",
		"date.before_delivery")
	// Checks are missing: since the first release a flag asks to act.
	c.post(path, `{"kind":"release","on":"2026-02-10","count":20,"note":"second class"}`).wantProblem(t, 422,
		"deviation_why", "release.deviation.flag")
	c.post(path, `{"kind":"release","on":"2026-02-10","count":20,"note":"second class","deviation_why":"looked at"}`).
		want(t, 201)
	if n := ts.load(ts.one).TotalsOn(civil.MustParse(testDay)).Released; n != 140 {
		t.Errorf("%d released", n)
	}
}

// Bucket 11 C and stream 20 C: do not release, and no steps of tempering are offered.
func TestWarmStreamIsNoStream(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	path := seasonPath(ts.one, "release")
	b.step(t, path, "stream", "bucket", "11", "stream", "20").want(t, 303)
	b.get(path+"?step=stream").want(t, 200, "DO NOT RELEASE", "above 18.0", "tempering does not help").lacks(t,
		"Step 1", "inside this limit", "<no value>", "[release")
	b.step(t, path, "stream", "bucket", "11", "stream", "10", "stream_oxygen", "10", "stream_ph", "7.2").want(t, 303)
	b.get(path+"?step=stream").want(t, 200, "GO: nothing").lacks(t, "DO NOT", "WAIT")
}
