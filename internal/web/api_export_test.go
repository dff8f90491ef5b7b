package web

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// unzip reads the CSV tables of an export, by name, as rows by column.
func unzip(t *testing.T, p page) (tables map[string][]map[string]string, description map[string]any) {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader([]byte(p.Body)), int64(len(p.Body)))
	if err != nil {
		t.Fatal(err)
	}
	tables = map[string][]map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		name, isCSV := strings.CutSuffix(f.Name, ".csv")
		if !isCSV {
			if err := json.Unmarshal(data, &description); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if n := bytes.Count(data, []byte("\n")); n == 0 || n != bytes.Count(data, []byte("\r\n")) {
			t.Errorf("%s: %d line ends, not all CRLF", f.Name, n)
		}
		lines, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
		if err != nil {
			t.Fatalf("%s: %v", f.Name, err)
		}
		tables[name] = []map[string]string{}
		for _, line := range lines[1:] {
			row := map[string]string{}
			for i, h := range lines[0] {
				row[h] = line[i]
			}
			tables[name] = append(tables[name], row)
		}
	}
	return tables, description
}

func TestExport(t *testing.T) {
	f := newFullServer(t)
	c := f.program(f.coordinator)
	_, err := f.DB.CreateTank(t.Context(), f.coordinator,
		logbook.Tank{SiteID: f.alder.ID, Name: `=HYPERLINK("x"),</script>`, Volume: 100,
			Wall: logbook.BareGlass}, testNow, store.IdempotencyKey{})
	f.must(err)
	c.post("/seasons/"+f.ids["seasonID"]+"/readings",
		`[{"at":"2026-02-09T08:00:00-04:00","temperature_c":-0.5},{"on":"2026-02-08","temperature_c":7}]`).want(t, 200)
	c.with("If-Match", "*").send("DELETE", "/events/"+f.ids["eventID"], `{"reason":"-wrong tank"}`).want(t, 200)
	c.with("If-Match", "*").send("DELETE", "/checks/"+f.ids["checkID"], `{"reason":"wrong tank"}`).want(t, 200)

	_, err = f.DB.SetKit(t.Context(), f.coordinator, logbook.Kit{SiteID: f.alder.ID, Name: "drops",
		Basis: logbook.KitAsNH3}, "", testNow)
	f.must(err)
	_, err = f.DB.SaveDutyWeek(t.Context(), f.coordinator, logbook.DutyWeek{SiteID: f.alder.ID,
		Who: [7]string{1: "Group A"}}, testNow)
	f.must(err)
	day := civil.MustParse("2026-03-01")
	_, err = f.DB.CreateCover(t.Context(), f.coordinator, logbook.Cover{SiteID: f.birch.ID, From: day, To: day,
		Who: "caretaker"}, testNow, store.IdempotencyKey{})
	f.must(err)
	gone, err := f.DB.CreateCover(t.Context(), f.coordinator, logbook.Cover{SiteID: f.alder.ID, From: day, To: day,
		Who: "Group C"}, testNow, store.IdempotencyKey{})
	f.must(err)
	_, err = f.DB.UpdateCover(t.Context(), f.coordinator, gone, true, "nobody is there", testNow)
	f.must(err)
	_, err = f.DB.CreatePhoto(t.Context(), f.coordinator, logbook.Photo{SeasonID: f.one.ID, On: day, Alt: "fry"},
		[]byte{1}, testNow)
	f.must(err)

	tables, desc := unzip(t, c.get("/export").want(t, 200))
	if k := tables["kits"]; len(k) != 1 || k[0]["basis"] != "NH3" || k[0]["site_id"] != string(f.alder.ID) {
		t.Errorf("kits %v", k)
	}
	if d := tables["duty"]; len(d) != 1 || d[0]["monday"] != "Group A" || d[0]["sunday"] != "" {
		t.Errorf("duty %v", d)
	}
	if n := len(tables["covers"]); n != 1 {
		t.Errorf("%d covers", n)
	}
	if p := tables["photos"]; len(p) != 1 || p[0]["alt"] != "fry" {
		t.Errorf("photographs %v", p)
	}
	for name, n := range map[string]int{"sites": 2, "tanks": 5, "lots": 1, "seasons": 3, "deliveries": 3, "checks": 1,
		"events": 3, "releases": 1, "plans": 1, "guesses": 1, "readings": 2} {
		if len(tables[name]) != n {
			t.Errorf("%d rows of %s, want %d", len(tables[name]), name, n)
		}
	}
	if tables["checks"][0]["status"] != "voided" || tables["events"][2]["status"] != "voided" ||
		tables["events"][2]["reason"] != "'-wrong tank" {
		t.Errorf("voided rows: %v %v", tables["checks"], tables["events"])
	}
	if tables["checks"][0]["dead_eggs"] != "" {
		t.Errorf("a count that was not made is %q", tables["checks"][0]["dead_eggs"])
	}
	found := false
	for _, row := range tables["tanks"] {
		found = found || row["name"] == `'=HYPERLINK("x"),</script>`
	}
	if !found {
		t.Errorf("formula is not guarded: %v", tables["tanks"])
	}
	for _, row := range tables["readings"] {
		if v := row["temperature_c"]; v != "-0.5" && v != "7" {
			t.Errorf("temperature %q", v)
		}
	}
	resources, _ := desc["resources"].([]any)
	if len(resources) != 23 {
		t.Fatalf("%d resources described", len(resources))
	}
	for _, r := range resources {
		r := r.(map[string]any)
		name := r["name"].(string)
		for _, field := range r["schema"].(map[string]any)["fields"].([]any) {
			if rows := tables[name]; len(rows) > 0 {
				if _, ok := rows[0][field.(map[string]any)["name"].(string)]; !ok {
					t.Errorf("%s has no column %v", name, field)
				}
			}
		}
	}

	// What was taken back keeps its old form, and says why and by whom.
	was := map[string]map[string]string{}
	for _, r := range tables["history"] {
		was[r["table"]] = r
	}
	if r := was["checks"]; r["reason"] != "wrong tank" || r["by_role"] != "coordinator" ||
		r["season_id"] != string(f.one.ID) || !strings.Contains(r["was"], `"voided":0`) {
		t.Errorf("history of the check: %v", r)
	}
	if r := was["cover"]; r["reason"] != "nobody is there" || r["season_id"] != "" ||
		!strings.Contains(r["was"], "Group C") {
		t.Errorf("history of the cover: %v", r)
	}

	for _, r := range tables["flags"] {
		if r["rule"] == "" || r["raised_on"] == "" {
			t.Errorf("flag %v", r)
		}
	}

	own, _ := unzip(t, f.program(f.birchKeeper).get("/export").want(t, 200))
	if len(own["sites"]) != 1 || own["sites"][0]["id"] != string(f.birch.ID) || len(own["seasons"]) != 1 ||
		len(own["tanks"]) != 1 || len(own["checks"]) != 0 {
		t.Errorf("a keeper's export holds more than the keeper may see: %v", own)
	}
	if len(own["kits"]) != 0 || len(own["duty"]) != 0 || len(own["photos"]) != 0 || len(own["covers"]) != 1 ||
		len(own["history"]) != 0 {
		t.Errorf("a keeper's export holds another school: %v", own)
	}
}

// hours writes a line for each hour of a day.
func hours(line string) string {
	var b strings.Builder
	for h := range 24 {
		fmt.Fprintf(&b, line, h)
	}
	return b.String()
}

func TestAPIReadings(t *testing.T) {
	ts := newTestServer(t)
	c := ts.program(ts.keeper)
	path := "/seasons/" + string(ts.one.ID) + "/readings"
	body := `[{"at":"2026-02-09T10:00:00-04:00","temperature":{"value":44.6,"unit":"[degF]"}},
		{"at":"2026-02-09T09:00:00-04:00","temperature_c":7.1},{"on":"2026-02-08","temperature_c":85},{"on":"2026-01-01","temperature_c":5}]`
	p := c.post(path, body).want(t, 200)
	if number(t, p, "added") != 3 || number(t, p, "suspect") != 1 || number(t, p, "refused", 0, "line") != 4 {
		t.Errorf("stored %s", p.Body)
	}
	again := c.post(path, body).want(t, 200)
	if number(t, again, "added") != 0 || number(t, again, "known") != 3 {
		t.Errorf("the second time %s", again.Body)
	}
	for body, field := range map[string]string{
		`{}`:                    "body",
		`[{"temperature_c":7}]`: "[0].at",
		`[{"at":"2026-02-09T10:00:00-04:00","on":"2026-02-09","temperature_c":7}]`: "[0].at",
		`[{"at":"2026-02-09T10:00:00","temperature_c":7}]`:                         "[0].at",
		`[{"on":"2026-02-09"}]`:                     "[0].temperature_c",
		`[{"on":"2026-02-09","temperature_c":"7"}]`: "[0].temperature_c",
		`[{"on":"2026-02-09","temperature_c":7,"temperature":{"value":7,"unit":"Cel"}}]`:          "[0].temperature",
		`[{"on":"2026-02-09","temperature_c":7},{"on":"2026-02-09","temperature_c":7,"depth":1}]`: "[1].depth",
	} {
		c.post(path, body).wantProblem(t, 422, field, "")
	}
	file := c.with("Content-Type", "text/csv")
	p = file.post(path+"?file_name=tank.csv", "time;temp (C)\n"+hours("2026-02-07 %02d:00;7,5\n")+
		"nonsense;x\n").want(t, 200)
	if number(t, p, "added") != 24 || number(t, p, "refused", 0, "line") != 26 ||
		p.field(t, "refused", 0, "message") == nil {
		t.Errorf("file stored as %s", p.Body)
	}
	// 5 February or 2 May: asked, with the answers to choose from.
	unclear := "time,temp (C)\n05/02/2026 08:00,7.5\n05/02/2026 09:00,7.6\n"
	asked := file.post(path, unclear).wantProblem(t, 422, "date_order", "")
	if asked.field(t, "errors", 0, "options") == nil {
		t.Errorf("no answers to choose from: %s", asked.Body)
	}
	p = file.post(path+"?date_order=dmy", unclear).want(t, 200)
	if number(t, p, "added") != 2 {
		t.Errorf("answered file stored as %s", p.Body)
	}
	file.post(path+"?date_order=ydm", unclear).wantProblem(t, 422, "date_order", "choice.unknown")
	file.post(path, "").wantProblem(t, 422, "body", "")
	file.post(path, strings.Repeat("x", 21<<20)).wantProblem(t, 413, "", "error.too_large")
}

// The report adds up, and its interval is the exact one of the calculator.
func TestAPIReport(t *testing.T) {
	ts := newTestServer(t)
	c := ts.program(ts.keeper)
	path := "/seasons/" + string(ts.one.ID)
	for _, on := range []string{"2026-02-06", "2026-02-09", "2026-02-10"} {
		c.post(path+"/checks", `{"on":"`+on+`","dead":{"eggs":2}}`).want(t, 201)
	}
	c.post(path+"/events", `{"kind":"counted","on":"2026-02-10","count":190}`).want(t, 201)
	p := c.get(path+"/report").want(t, 200)
	// 200 delivered, 6 dead, 190 counted: 4 that nobody can explain.
	for field, want := range map[string]float64{"delivered": 200, "dead": 6, "alive": 190, "unexplained": 4} {
		if got := number(t, p, "totals", field); got != want {
			t.Errorf("%s is %v, want %v", field, got, want)
		}
	}
	calc := c.get("/calc/survival?alive=190&total=200&level=0.95").want(t, 200)
	for _, f := range []string{"estimate", "lower", "upper"} {
		if number(t, p, "survival", f) != number(t, calc, f) {
			t.Errorf("survival %s: %s, calculator %s", f, p.Body, calc.Body)
		}
	}
	if number(t, p, "survival", "bound_lower") != 0.95 || number(t, p, "survival", "bound_upper") != 0.97 {
		t.Errorf("bounds: %s", p.Body)
	}
	// 20 January (a Tuesday, the delivery) to 10 February: 15 school days after it; the check of 6
	// February was entered four days later.
	if number(t, p, "completeness", "days_due") != 15 || number(t, p, "completeness", "days_checked") != 3 ||
		number(t, p, "completeness", "late") != 1 {
		t.Errorf("completeness: %s", p.Body)
	}
}

func TestAPIPlaces(t *testing.T) {
	ts := newTestServer(t)
	boss := ts.program(ts.coordinator)
	site := boss.post("/sites", `{"name":"Cedar Lane School","zone":"Europe/Oslo","language":"en","temperature_unit":"Cel"}`).want(t, 201)
	boss.post("/sites", `{"name":"","zone":"Mars/Base","language":"de","temperature_unit":"K","altitude_m":99999}`).wantProblem(t, 422, "zone", "").
		wantProblem(t, 422, "name", "").wantProblem(t, 422, "altitude_m", "").wantProblem(t, 422, "language", "")
	id := site.str(t, "id")
	tank := boss.post("/sites/"+id+"/tanks", `{"name":"A","volume_l":120,"wall":"bare"}`).want(t, 201).str(t, "id")
	boss.with("If-Match", `"1"`).send("PATCH", "/tanks/"+tank, `{"volume_l":null}`).wantProblem(t, 422, "volume_l", "")
	boss.with("If-Match", `"1"`).send("PATCH", "/tanks/"+tank, `{"volume_l":110,"site_id":"x"}`).wantProblem(t, 422,
		"site_id", "api.unknown_field")
	boss.with("If-Match", `"1"`).send("PATCH", "/tanks/"+tank, `{"volume_l":110}`).want(t, 200, `"revision":2`)
	lot := boss.post("/lots", `{"code":"C1","species":"coho","egg_diameter_mm":7}`).want(t, 201).str(t, "id")
	boss.with("If-Match", `"1"`).send("PATCH", "/lots/"+lot, `{"egg_diameter_mm":null,"stock":"river"}`).want(t, 200,
		`"egg_diameter_mm":null`)

	season := `{"tank_id":"` + tank + `","lot_id":"` + lot +
		`","delivery":{"on":"2026-01-12","count":0,"method":"by_eye"}}`
	boss.post("/seasons", season).wantProblem(t, 422, "delivery.count", "").wantProblem(t, 422, "delivery.method", "")
	if n := len(boss.get("/seasons?tank="+tank).want(t, 200).field(t, "items").([]any)); n != 0 {
		t.Errorf("%d seasons after a refusal", n)
	}
	season = strings.NewReplacer(`"count":0`, `"count":100`, "by_eye", "by_hand").Replace(season)
	ts.program(ts.keeper).post("/seasons", season).wantProblem(t, 422, "tank_id", "api.no_such")
	made := boss.post("/seasons", season).want(t, 201)
	if made.str(t, "label") != "2025-26" || len(made.field(t, "deliveries").([]any)) != 1 {
		t.Errorf("season %s", made.Body)
	}
	boss.post("/seasons", season).wantProblem(t, 409, "", "error.season.open")
	path := "/seasons/" + made.str(t, "id")
	boss.with("If-Match", `"1"`).send("PATCH", path, `{"closed_on":"2026-01-01"}`).wantProblem(t, 422, "closed_on", "")
	boss.with("If-Match", `"1"`).send("PATCH", path, `{"closed_on":"2026-02-10"}`).want(t, 200,
		`"closed_on":"2026-02-10"`)
	ts.program(ts.keeper).get("/board?site="+id).wantProblem(t, 404, "", "error.not_found")
	for _, it := range ts.program(ts.class).get("/seasons").want(t, 200).field(t, "items").([]any) {
		if it.(map[string]any)["site_id"] != string(ts.alder.ID) {
			t.Errorf("a class sees %v", it)
		}
	}
}
