package web

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// loggerFile is an invented file: a reading each hour of some days of February.
func loggerFile(from, to int, low, high float64) string {
	var b strings.Builder
	b.WriteString("time,temp C\n")
	for d := from; d <= to; d++ {
		for h := range 24 {
			fmt.Fprintf(&b, "2026-02-%02d %02d:00,%.1f\n", d, h, low+(high-low)*float64(h)/23)
		}
	}
	return b.String()
}

// checksOf stores a check of each day at one temperature.
func checksOf(ts *testServer, s *logbook.Season, from, to int, c float64) {
	ts.t.Helper()
	for d := from; d <= to; d++ {
		ts.program(ts.coordinator).with("Idempotency-Key", fmt.Sprint(s.ID, d)).post("/seasons/"+string(s.ID)+"/checks",
			fmt.Sprintf(`{"on":"2026-02-%02d","temperature":{"value":%g,"unit":"Cel"},"confirm":["temperature"]}`, d,
				c)).want(ts.t, 201)
	}
}

// A file of 17.8 to 23.3 C against checks of 6.5 is asked about by page and by
// program, stored when somebody says so, and taken back with a reason: then the
// season reads as if it had never come, and the file stays in the list.
func TestWrongFileIsAskedAndTakenBack(t *testing.T) {
	ts := newTestServer(t)
	b, c := ts.as(ts.keeper), ts.program(ts.keeper)
	checksOf(ts, ts.one, 2, 6, 6.5)
	file := loggerFile(2, 6, 17.8, 23.3)
	mean := func() string { return c.get("/seasons/"+string(ts.one.ID)+"/forecast").want(t, 200).Body }
	was := mean()

	path := "/seasons/" + string(ts.one.ID) + "/readings"
	plain := c.with("Content-Type", "text/csv")
	plain.post(path, file).want(t, 422, "17.8", "23.3", "6.5", `"confirm":true`, "far_from_checks")
	at := b.sendFile(ts.one, "readings", "wrong.csv", []byte(file)).want(t, 303).Location
	p := b.get(at).want(t, 200, "Is this the right file?", "The 5 checks of the same days found about 6.5")
	p = b.storeShown(at, p, "store").want(t, 422, "tick the box")
	if n := len(ts.load(ts.one).Readings); n != 0 {
		t.Fatalf("%d readings stored without a word", n)
	}
	to := b.storeShown(at, p, "store", "confirm", "yes").want(t, 303).Location
	if n := len(ts.load(ts.one).Readings); n != 120 {
		t.Fatalf("%d readings", n)
	}
	if mean() == was {
		t.Error("the file changed nothing in the forecast")
	}

	b.get(to).want(t, 200, "Take this file back")
	b.post(to+"/void", fields("reason", " ")).want(t, 422, "Say why")
	b.post(to+"/void", fields("reason", "the file of the greenhouse")).want(t, 303)
	b.get(seasonPath(ts.one, "import")).want(t, 200, "Taken back: the file of the greenhouse", "wrong.csv")
	b.get(to).want(t, 200, "This file was taken back", "the file of the greenhouse").lacks(t, "Take the file back")
	b.post(to+"/void", fields("reason", "again")).want(t, 409, "taken back already")
	if n := len(ts.load(ts.one).Readings); n != 0 || mean() != was {
		t.Errorf("%d readings are left, or the forecast is not what it was", n)
	}

	// By program, with the same words.
	saved := plain.post(path+"?confirm=far_from_checks", file).want(t, 200, `"added":120`).field(t, "import_id")
	void := "/seasons/" + string(ts.one.ID) + "/imports/" + fmt.Sprint(saved)
	c.send("DELETE", void, `{"reason":""}`).want(t, 422, "Say why")
	c.send("DELETE", void, `{"reason":"wrong tank"}`).want(t, 200)
	c.send("DELETE", void, `{"reason":"wrong tank"}`).want(t, 409)
	ts.program(logbook.Actor{Role: logbook.Keeper, SiteID: ts.birch.ID, Label: "Birch"}).send("DELETE", void,
		`{"reason":"wrong tank"}`).want(t, 404)
	if n := len(ts.load(ts.one).Readings); n != 0 {
		t.Errorf("%d readings are left", n)
	}
}

// Readings that are nearer to the other tank of the school are asked about.
func TestFileOfTheOtherTank(t *testing.T) {
	ts := newTestServer(t)
	tank, err := ts.DB.CreateTank(t.Context(), ts.coordinator, logbook.Tank{SiteID: ts.alder.ID, Name: "Tank B",
		Volume: 100, Wall: "bare"}, testNow, store.IdempotencyKey{})
	ts.must(err)
	s, err := ts.DB.CreateSeason(t.Context(), ts.coordinator, logbook.Season{Label: "2026", Tank: tank, Lot: ts.lot},
		testNow, store.IdempotencyKey{})
	ts.must(err)
	d := ts.one.Deliveries[0]
	d.SeasonID, d.ID = s.ID, ""
	_, err = ts.DB.CreateDelivery(t.Context(), ts.coordinator, d, testNow, store.Write{})
	ts.must(err)
	checksOf(ts, ts.one, 2, 6, 6.5)
	checksOf(ts, s, 2, 6, 7.7)
	c := ts.program(ts.keeper).with("Content-Type", "text/csv")
	path := "/seasons/" + string(ts.one.ID) + "/readings"
	c.post(path, loggerFile(2, 6, 7.6, 7.9)).want(t, 422, "nearer to Tank B", "nearer_to_other_tank")
	c.post(path, loggerFile(2, 6, 6.4, 6.7)).want(t, 200, `"added":120`)
}

// Two files that disagree raise a flag on the tank; neither counts in that hour.
func TestFilesThatDisagreeRaiseAFlag(t *testing.T) {
	ts := newTestServer(t)
	c := ts.program(ts.keeper).with("Content-Type", "text/csv")
	path := "/seasons/" + string(ts.one.ID) + "/readings"
	c.post(path, loggerFile(7, 8, 6.4, 6.7)).want(t, 200)
	second := c.post(path, loggerFile(7, 8, 9.4, 9.7)).want(t, 200, `"other":48`, "files_disagree").field(t,
		"import_id")
	for _, r := range ts.load(ts.one).Readings {
		if r.Quality == logbook.Good {
			t.Fatalf("%s counts", r.At.Format(time.RFC3339))
		}
	}
	c.send("DELETE", "/seasons/"+string(ts.one.ID)+"/imports/"+fmt.Sprint(second), `{"reason":"of tank B"}`).want(t,
		200, "files_disagree")
	for _, r := range ts.load(ts.one).Readings {
		if r.Quality != logbook.Good {
			t.Fatalf("%s does not count", r.At.Format(time.RFC3339))
		}
	}
}
