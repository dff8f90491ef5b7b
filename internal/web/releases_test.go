package web

import (
	"archive/zip"
	"bytes"
	"fmt"
	"mime/multipart"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// sumInPython adds releases up from the tables of the package alone, in another
// language: species, by, name, fish.
const sumInPython = `
import csv, sys, os, collections
def table(name):
    with open(os.path.join(sys.argv[1], name + ".csv"), newline="", encoding="utf-8") as f:
        return [{k: v[1:] if v[:2] in ("'=", "'+", "'-", "'@") else v for k, v in r.items()} for r in csv.DictReader(f)]
lots = {r["id"]: r for r in table("lots")}
seasons = {r["id"]: r for r in table("seasons")}
permits = {r["id"]: r for r in table("permits")}
places = {" ".join(r["name"].split()).lower(): r for r in table("release_places")}
records = {r["event_id"]: r for r in table("releases") if r["status"] == "stored"}
sums = collections.Counter()
for e in table("events"):
    if e["kind"] != "release" or e["status"] != "stored" or not e["on"].startswith(sys.argv[2]):
        continue
    s = seasons[e["season_id"]]
    lot, r = lots[s["lot_id"]], records.get(e["id"], {})
    place = places.get(" ".join(e["place"].split()).lower(), {})
    by = {"species": "", "stock": r.get("stock") or lot["stock"], "lot": lot["code"],
          "permit": e["permit"] or permits.get(s["permit_id"], {}).get("number", ""),
          "water": r.get("water_body") or place.get("water", "")}
    for k, name in by.items():
        sums[lot["species"], k, name] += int(e["count"])
out = csv.writer(sys.stdout, lineterminator="\n")
for key in sorted(sums):
    out.writerow([*key, sums[key]])
`

// releasesServer holds releases of two species, two permits and two waters; one was
// taken back, one departs, one has no permit of its own number.
func releasesServer(t *testing.T) *testServer {
	t.Helper()
	ts := newTestServer(t)
	ctx := t.Context()
	trout, err := ts.DB.CreateLot(ctx, ts.coordinator, logbook.Lot{Code: "T-1", Species: logbook.BrownTrout,
		Supplier: "Fen hatchery", Stock: "Fen"}, testNow, store.IdempotencyKey{})
	ts.must(err)
	tank, err := ts.DB.CreateTank(ctx, ts.coordinator, logbook.Tank{SiteID: ts.alder.ID, Name: "Trout tank", Volume: 90,
		Wall: logbook.BareGlass}, testNow, store.IdempotencyKey{})
	ts.must(err)
	season, err := ts.DB.CreateSeason(ctx, ts.coordinator, logbook.Season{Label: "2025-26", Tank: tank, Lot: trout},
		testNow, store.IdempotencyKey{})
	ts.must(err)
	_, err = ts.DB.CreateDelivery(ctx, ts.coordinator, logbook.Delivery{SeasonID: season.ID,
		On: civil.MustParse("2026-01-10"), Count: 300, Method: logbook.ByHand, Stage: logbook.Fry}, testNow, store.Write{})
	ts.must(err)
	permit, err := ts.DB.CreatePermit(ctx, ts.coordinator, logbook.Permit{Number: "P-1"}, testNow, store.IdempotencyKey{})
	ts.must(err)
	_, err = ts.DB.CreateReleasePlace(ctx, ts.coordinator, logbook.ReleasePlace{Name: "Upper Bridge",
		Water: "Elm Brook", Coordinates: "45°30.50'N 063°15.0'W"}, testNow, store.IdempotencyKey{})
	ts.must(err)
	ts.must(ts.DB.AttachPermit(ctx, ts.coordinator, permit.ID, []logbook.ID{ts.one.ID, season.ID}, testNow))
	for i, x := range []struct {
		season               logbook.ID
		n                    int
		permit, place, water string
	}{{ts.one.ID, 40, "", "Upper bridge", ""}, {ts.one.ID, 30, "P-2", "weir", "=Other River"},
		{season.ID, 100, "", "", "Elm Brook"}, {season.ID, 7, "P-1", "upper  bridge", ""}, {ts.two.ID, 11, "", "", ""},
		{ts.two.ID, 90, "", "", ""}} {
		e, err := ts.DB.CreateEvent(ctx, ts.coordinator, logbook.Event{SeasonID: x.season, Kind: logbook.Released,
			On: civil.MustParse("2026-02-08"), Count: units.Some(x.n), Permit: x.permit, Place: x.place, Note: "n",
			Deviations: map[bool]string{true: "late"}[i == 1], DeviationWhy: "ice"}, testNow, store.Write{})
		ts.must(err)
		if x.water != "" {
			_, err = ts.DB.CreateRelease(ctx, ts.coordinator, logbook.ReleaseRecord{SeasonID: x.season,
				EventID: e.Row.ID, WaterBody: x.water}, testNow, store.Write{})
			ts.must(err)
		}
		if x.n == 90 {
			_, err = ts.DB.VoidEvent(ctx, ts.coordinator, e.Row.ID, 1, "wrong tank", testNow, nil)
			ts.must(err)
		}
	}
	return ts
}

// The totals of the page equal a sum from the Data Package alone, made in python.
func TestTotalsEqualASumFromThePackage(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Skip("no python3 on this computer: the totals are not added up by another program")
	}
	ts := releasesServer(t)
	b := ts.as(ts.coordinator)
	dir := t.TempDir()
	body := b.get("/api/v1/export").want(t, 200).Body
	z, err := zip.NewReader(strings.NewReader(body), int64(len(body)))
	ts.must(err)
	ts.must(os.CopyFS(dir, z))
	script := filepath.Join(dir, "sum.py")
	ts.must(os.WriteFile(script, []byte(sumInPython), 0o600))
	out, err := exec.Command(python, script, dir, "2026").CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	want := csvRows(t, string(out), ',')
	var got [][]string
	rows := csvRows(t, b.get("/releases?year=2026&format=csv&table=totals").want(t, 200).Body, ',')
	at := func(name string) int { return slices.Index(rows[0], name) }
	for _, r := range rows[1:] {
		got = append(got, []string{r[at("species_key")], r[at("by_key")], strings.TrimPrefix(r[at("name")], "'"),
			r[at("fish")]})
	}
	slices.SortFunc(got, slices.Compare[[]string])
	slices.SortFunc(want, slices.Compare[[]string])
	if fmt.Sprint(got) != fmt.Sprint(want) || len(got) < 12 {
		t.Errorf("page\n%v\npython\n%v", got, want)
	}
}

// By hand: salmon 40 + 30 + 11 = 81, trout 100 + 7 = 107; P-1 has 40 salmon and 107
// trout. Nothing adds the two.
func TestReleasesOfAYear(t *testing.T) {
	ts := releasesServer(t)
	b := ts.as(ts.coordinator)
	page := b.get("/releases").want(t, 200, "Releases of 2026", "after the permitted days", "45°30.50&#39;N 063°15.0&#39;W",
		"Written on", "Elm Brook")
	page.lacks(t, ">188<") // 81 + 107
	totals := b.get("/releases?year=2026&format=csv&table=totals").want(t, 200).Body
	for _, line := range []string{"atlantic_salmon,Atlantic salmon,species,all of the species,,2,81,1",
		"brown_trout,brown trout,species,all of the species,,1,107,0", "atlantic_salmon,Atlantic salmon,permit,permit,P-1,1,40,0",
		"brown_trout,brown trout,permit,permit,P-1,1,107,0", "brown_trout,brown trout,water,water,Elm Brook,1,107,0"} {
		if !strings.Contains(totals, line+"\r\n") {
			t.Errorf("no line %s in\n%s", line, totals)
		}
	}
	// 300 came, 107 were released, 193 are in the tank: nothing is lost on the way.
	receipts := b.get("/releases?year=2026&format=csv&table=receipts").want(t, 200).Body
	if !strings.Contains(receipts, "P-1,brown_trout,brown trout,1,300,0,0,0,0,107,0,193\r\n") {
		t.Errorf("receipts\n%s", receipts)
	}
	rows := csvRows(t, b.get("/releases?format=csv").want(t, 200).Body, ',')
	if len(rows) != 6 || strings.Join(rows[0][:6], ",") != "on,permit,water,place,coordinates,fish" {
		t.Errorf("%d rows, no row of sums wanted: %v", len(rows), rows[0])
	}
	if body := b.get("/releases?format=csv").Body; !strings.Contains(body, "'=Other River") {
		t.Error("a text that a spreadsheet would run stands unguarded")
	}
	if got := ts.as(ts.keeper).get("/releases").want(t, 200).Body; strings.Contains(got, `type="file"`) {
		t.Error("a keeper is offered the form of an agency")
	}
	ts.as(ts.birchKeeper).get("/releases").want(t, 200).lacks(t, "Trout tank")
}

// A mapping file names and orders the columns; what is wrong with one is said by line.
func TestReleasesInAnotherForm(t *testing.T) {
	ts := releasesServer(t)
	b := ts.as(ts.coordinator)
	send := func(mapping string) page {
		t.Helper()
		var body bytes.Buffer
		w := multipart.NewWriter(&body)
		ts.must(w.WriteField("year", "2026"))
		part, err := w.CreateFormFile("mapping", "columns.csv")
		ts.must(err)
		_, err = part.Write([]byte(mapping))
		ts.must(err)
		ts.must(w.Close())
		r := httptest.NewRequest("POST", "/releases", &body)
		r.Header.Set("Content-Type", w.FormDataContentType())
		return b.do(r)
	}
	for _, mapping := range []string{"fish,Number of fish\non,\"Date, of stocking\"\nspecies_key,Species\n",
		`[{"column":"fish","name":"Number of fish"},{"column":"on","name":"Date, of stocking"},{"column":"species_key","name":"Species"}]`} {
		rows := csvRows(t, send(mapping).want(t, 200).Body, ',')
		if strings.Join(rows[0], "|") != "Number of fish|Date, of stocking|Species" || len(rows) != 6 ||
			!slices.ContainsFunc(rows, func(r []string) bool {
				return strings.Join(r, "|") == "100|2026-02-08|brown_trout"
			}) {
			t.Errorf("%v", rows)
		}
	}
	for mapping, text := range map[string]string{"": "is empty", "on,Date\nday,Day\n": "Line 2: day is none",
		"on,Date\nfish,Date\n": "twice", "on\n": "Each line needs", `[{"column":1}]`: "It must be a list",
		"on,\n": "no name", "[]": "is empty"} {
		send(mapping).want(t, 422, text)
	}
}
