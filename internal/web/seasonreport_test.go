package web

import (
	"context"
	"database/sql"
	"encoding/csv"
	"strconv"
	"strings"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/reports"
)

// fullLog gives tank 1 a season with everything a report counts, some of it
// taken back.
func (ts *testServer) fullLog() {
	ts.t.Helper()
	ctx := context.Background()
	for i, dead := range []int{0, 2, 1, 0, 3} {
		ts.check(ts.one, civil.MustParse("2026-01-21").AddDays(i), units.Celsius(6+float64(i)/2), dead,
			func(c *logbook.Check) {
				if i == 2 {
					c.DeadAlevins, c.DeadFry = units.Some(4), units.Some(1)
					c.PH, c.TAN = units.Some(7.25), units.Some[units.MgPerL](0.5)
				}
			})
	}
	event := func(kind logbook.EventKind, n int, more func(*logbook.Event)) logbook.Event {
		e := logbook.Event{SeasonID: ts.one.ID, Kind: kind, On: civil.MustParse("2026-02-01"), Count: units.Some(n),
			Place: "Invented Brook"}
		if more != nil {
			more(&e)
		}
		saved, err := ts.DB.CreateEvent(ctx, ts.keeper, e, ts.clockAt(), store.Write{})
		ts.must(err)
		return saved.Row
	}
	event(logbook.MovedIn, 20, nil)
	event(logbook.MovedOut, 7, nil)
	event(logbook.SampleTaken, 5, nil)
	event(logbook.Released, 30, func(e *logbook.Event) { e.Permit, e.MeanG = "P-1", units.Some[units.Grams](0.35) })
	back := event(logbook.Released, 50, nil)
	_, err := ts.DB.VoidEvent(ctx, ts.keeper, back.ID, back.Revision, "wrong tank", ts.clockAt(), nil)
	ts.must(err)
	event(logbook.Counted, 150, nil)
}

// count asks the file itself, past the store.
func (ts *testServer) sqlCount(query string, args ...any) int {
	ts.t.Helper()
	db, err := sql.Open("sqlite", "file:"+ts.DB.Path()+"?mode=ro")
	ts.must(err)
	defer db.Close()
	n := 0
	ts.must(db.QueryRow(query, args...).Scan(&n))
	return n
}

func csvRows(t *testing.T, body string, comma rune) [][]string {
	t.Helper()
	r := csv.NewReader(strings.NewReader(body))
	r.Comma = comma
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// The totals of the reports are those of the log by a count of its own.
func TestReportTotalsEqualTheLog(t *testing.T) {
	ts := newTestServer(t)
	ts.fullLog()
	sums := func(where string, args ...any) map[string]int {
		events := func(kind string) int {
			return ts.sqlCount("SELECT coalesce(sum(fish_count), 0) FROM event JOIN season s ON s.num = season_num WHERE voided = 0 AND kind = '"+kind+"' AND "+where, args...)
		}
		checks := func(col string) int {
			return ts.sqlCount("SELECT coalesce(sum("+col+
				"), 0) FROM checks JOIN season s ON s.num = season_num WHERE voided = 0 AND "+where, args...)
		}
		m := map[string]int{"delivered": ts.sqlCount("SELECT coalesce(sum(egg_count), 0) FROM delivery JOIN season s ON s.num = season_num WHERE voided = 0 AND "+where, args...),
			"moved_in": events("moved_in"), "moved_out": events("moved_out"), "sampled": events("sample_taken"),
			"released":  events("release"),
			"dead_eggs": checks("dead_eggs"), "dead_alevins": checks("dead_alevins"), "dead_fry": checks("dead_fry")}
		m["dead"] = m["dead_eggs"] + m["dead_alevins"] + m["dead_fry"]
		return m
	}

	season := map[string]string{}
	rows := csvRows(t, ts.as(ts.keeper).get(seasonPath(ts.one, "report?format=csv")).want(t, 200).Body, ',')
	for _, row := range rows[1:] {
		if row[0] == "account" {
			season[row[2]] = row[3]
		}
	}
	want := sums("s.id = ?", ts.one.ID)
	if want["dead"] != 11 || want["released"] != 30 {
		t.Fatalf("the test's own log: %v", want)
	}
	for name, n := range want {
		if season[name] != strconv.Itoa(n) {
			t.Errorf("season: %s is %s, the log has %d", name, season[name], n)
		}
	}
	// Counted 150 on the day; the identity gives the rest: 220-11-42-150.
	if season["alive"] != "150" || season["unexplained"] != "17" {
		t.Errorf("alive %s, unexplained %s", season["alive"], season["unexplained"])
	}

	for path, where := range map[string]string{"/report": "1 = 1",
		"/sites/" + string(ts.alder.ID) + "/report": "s.tank_id IN (SELECT id FROM tank WHERE site_id = '" +
			string(ts.alder.ID) + "')"} {
		rows := csvRows(t, ts.as(ts.coordinator).get(path+"?format=csv").want(t, 200).Body, ',')
		last := rows[len(rows)-1]
		for name, n := range sums(where) {
			for i, col := range rows[0] {
				if col == name && last[i] != strconv.Itoa(n) {
					t.Errorf("%s: sum of %s is %s, the log has %d", path, name, last[i], n)
				}
			}
		}
	}
}

func TestSeasonReportPage(t *testing.T) {
	ts := newTestServer(t)
	ts.fullLog()
	b := ts.as(ts.keeper)
	b.get(seasonPath(ts.one, "facts")).want(t, 200, seasonPath(ts.one, "report"))
	b.get("/sites/"+string(ts.alder.ID)).want(t, 200, "/sites/"+string(ts.alder.ID)+"/report")
	doc := b.get(seasonPath(ts.one, "report")).want(t, 200, "Test hatchery", "Invented Brook", "P-1",
		"seasonreport.css").doc(t)
	if n := doc.Find("#part-water").Parent().Find("tbody tr").Length(); n != 1 {
		t.Errorf("%d water tests", n)
	}
	if n := doc.Find("#part-release").Parent().Find("tbody tr").Length(); n != 1 {
		t.Errorf("%d releases; the one taken back does not count", n)
	}
	// weekdays from 21 January to 10 February 2026
	if text := doc.Find("#part-log").Parent().Text(); !strings.Contains(text, "due15") {
		t.Errorf("completeness: %s", text)
	}
	// The interval itself is checked in stats; here it only has to be on the page.
	if text := doc.Find("#part-survival").Parent().Text(); !strings.Contains(text, "Exact range") {
		t.Errorf("survival: %s", text)
	}
	ts.as(ts.coordinator).get("/board").want(t, 200, `href="/report"`)
	ts.as(ts.coordinator).get("/report").want(t, 200, "Birch Hill School", "All together")
	b.get("/report").want(t, 403)
	b.get(seasonPath(ts.far, "report")).want(t, 404)
	b.get("/sites/"+string(ts.birch.ID)+"/report").want(t, 404)
	ts.as(ts.class).get(seasonPath(ts.one, "report")).want(t, 403)
}

// A French spreadsheet wants a mark of UTF-8, semicolons and decimal commas.
func TestReportForSpreadsheets(t *testing.T) {
	ts := newTestServer(t)
	ts.fullLog()
	b := ts.as(ts.keeper)
	b.lang = "fr"
	body, marked := strings.CutPrefix(b.get(seasonPath(ts.one, "report?format=spreadsheet")).want(t, 200).Body,
		"\ufeff")
	if !marked {
		t.Error("no mark of UTF-8")
	}
	found := false
	for _, row := range csvRows(t, body, ';') {
		found = found || row[2] == "pH" && row[3] == "7,25"
	}
	if !found || !strings.Contains(body, "\r\n") {
		t.Errorf("French file: %.600s", body)
	}
	b.lang = "en"
	body = strings.TrimPrefix(b.get(seasonPath(ts.one, "report?format=spreadsheet")).want(t, 200).Body, "\ufeff")
	if rows := csvRows(t, body, ','); rows[0][0] != "Part" {
		t.Errorf("English file starts with %v", rows[0])
	}
}

func TestReportCellsDoNotRun(t *testing.T) {
	cat, err := i18n.Load()
	if err != nil {
		t.Fatal(err)
	}
	p := cat.Printer("fr", units.Cel)
	d := reports.CSVDialect{Spreadsheet: true, Comma: true}
	for _, x := range []struct {
		v    any
		want string
	}{{"=1+1", "'=1+1"}, {"-x", "'-x"}, {-3, "-3"}, {units.Celsius(-0.5), "-0,5"}, {nil, ""}, {civil.Date{}, ""},
		{"3.14", "3.14"}} {
		if got := d.Cell(p, x.v); got != x.want {
			t.Errorf("%v gives %q, want %q", x.v, got, x.want)
		}
	}
}
