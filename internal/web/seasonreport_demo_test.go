package web

import (
	"io"
	"log/slog"
	"strconv"
	"strings"
	"testing"

	"reddside/internal/logbook"
)

// reportSQL counts each column of the table of seasons in plain SQL, past the
// store and the report. ?1 is the season.
var reportSQL = map[string]string{
	"delivered":    "SELECT coalesce(sum(egg_count), 0) FROM delivery WHERE voided = 0 AND season_num IN %s",
	"moved_in":     "SELECT coalesce(sum(fish_count), 0) FROM event WHERE voided = 0 AND kind = 'moved_in' AND season_num IN %s",
	"moved_out":    "SELECT coalesce(sum(fish_count), 0) FROM event WHERE voided = 0 AND kind = 'moved_out' AND season_num IN %s",
	"sampled":      "SELECT coalesce(sum(fish_count), 0) FROM event WHERE voided = 0 AND kind = 'sample_taken' AND season_num IN %s",
	"released":     "SELECT coalesce(sum(fish_count), 0) FROM event WHERE voided = 0 AND kind = 'release' AND season_num IN %s",
	"dead_eggs":    "SELECT coalesce(sum(dead_eggs), 0) FROM checks WHERE voided = 0 AND season_num IN %s",
	"dead_alevins": "SELECT coalesce(sum(dead_alevins), 0) FROM checks WHERE voided = 0 AND season_num IN %s",
	"dead_fry":     "SELECT coalesce(sum(dead_fry), 0) FROM checks WHERE voided = 0 AND season_num IN %s",
	"dead": `SELECT coalesce(sum(coalesce(dead_eggs, 0) + coalesce(dead_alevins, 0) + coalesce(dead_fry, 0)), 0)
		FROM checks WHERE voided = 0 AND season_num IN %s`,
	"corrected": "SELECT count(*) FROM checks WHERE voided = 0 AND revision > 1 AND season_num IN %s",
	// Weekdays on which a check is due and made: Saturdays, Sundays and closed days out.
	"days_checked": `SELECT count(DISTINCT c.season_num || c.on_date) FROM checks c JOIN season s ON s.num = c.season_num JOIN tank t ON t.id = s.tank_id
		WHERE c.voided = 0 AND strftime('%%w', c.on_date) NOT IN ('0', '6') AND (s.closed_on IS NULL OR c.on_date <= s.closed_on)
		AND NOT EXISTS (SELECT 1 FROM closed_span x WHERE x.site_id = t.site_id AND x.voided = 0 AND c.on_date BETWEEN x.from_on AND x.to_on)
		AND c.season_num IN %s`,
}

// The tables of the demonstration equal the log, season by season and in the sum.
func TestReportTotalsEqualTheDemo(t *testing.T) {
	db, _ := demoExport(t, testNow)
	ts := &testServer{t: t}
	ts.at(testNow)
	var err error
	ts.Server, err = New(Options{DB: db, Clock: ts.clockAt, Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
	ts.must(err)
	rows := csvRows(t, ts.as(logbook.Actor{Role: logbook.Coordinator,
		Label: "Coordinator"}).get("/report?format=csv").want(t, 200).Body, ',')
	if n := ts.sqlCount("SELECT count(*) FROM season"); len(rows) != n+2 || n < 10 {
		t.Fatalf("%d rows for %d seasons", len(rows), n)
	}
	col := map[string]int{}
	for i, name := range rows[0] {
		col[name] = i
	}
	some := 0
	for _, row := range rows[1:] {
		where, args := "(SELECT num FROM season)", []any(nil)
		if row[col["tank"]] != "" {
			where = `(SELECT s.num FROM season s JOIN tank t ON t.id = s.tank_id JOIN site ON site.id = t.site_id
				WHERE site.name = ?1 AND t.name = ?2 AND s.label = ?3)`
			args = []any{row[col["site"]], row[col["tank"]], row[col["season"]]}
		}
		for name, query := range reportSQL {
			n := ts.sqlCount(strings.NewReplacer("%%", "%", "%s", where).Replace(query), args...)
			some += n
			if got := row[col[name]]; got != strconv.Itoa(n) {
				t.Errorf("%v: %s is %s, the log has %d", row[:3], name, got, n)
			}
		}
	}
	if some == 0 {
		t.Error("the demonstration has nothing to count")
	}
}

// Deaths by cause add up to the deaths, and those without a cause are said.
func TestReportCauses(t *testing.T) {
	ts := newTestServer(t)
	ts.fullLog()
	c := ts.program(ts.keeper)
	path := "/seasons/" + string(ts.one.ID) + "/checks"
	c.post(path, `{"on":"2026-02-09","dead":{"eggs":3},"dead_cause":"fungus"}`).want(t, 201)
	c.post(path, `{"on":"2026-02-06","dead":{"eggs":0},"dead_cause":"fungus"}`).wantProblem(t, 422, "dead_cause",
		"check.cause_alone")
	c.post(path, `{"on":"2026-02-06","dead":{"eggs":1},"dead_cause":"witchcraft"}`).wantProblem(t, 422, "dead_cause",
		"choice.unknown")
	b := ts.as(ts.class)
	b.get(seasonPath(ts.one, "checks/new")).want(t, 200, "Dead at another stage, or why they died", `name="dead_cause"`)
	sums := map[string]int{}
	for _, row := range csvRows(t, ts.as(ts.keeper).get(seasonPath(ts.one, "report?format=csv")).want(t, 200).Body,
		',') {
		if row[0] == "causes" && row[2] == "dead_eggs" || row[0] == "account" && row[2] == "dead_eggs" {
			n, err := strconv.Atoi(row[3])
			ts.must(err)
			sums[row[0]] += n
		}
	}
	if want := ts.sqlCount("SELECT sum(dead_eggs) FROM checks WHERE voided = 0"); sums["causes"] != want ||
		sums["account"] != want {
		t.Errorf("%v, the log has %d", sums, want)
	}
	ts.as(ts.keeper).get(seasonPath(ts.one, "report")).want(t, 200, "Deaths by cause", "fungus (white fuzz)",
		"no cause noted", "Days without a check", "Longest gap")
}
