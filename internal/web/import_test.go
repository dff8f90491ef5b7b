package web

import (
	"bytes"
	"html"
	"mime/multipart"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/entries"
	"reddside/internal/ingest"
	"reddside/internal/logbook"
	"reddside/internal/web/imports"
	"reddside/internal/web/req"
)

// sendFile uploads a file to the import page of a season.
func (b *browser) sendFile(s *logbook.Season, kind, name string, data []byte) page {
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	_ = form.WriteField("kind", kind)
	w, err := form.CreateFormFile("file", name)
	b.ts.must(err)
	_, _ = w.Write(data)
	_ = form.Close()
	req := httptest.NewRequest("POST", seasonPath(s, "import"), &body)
	req.Header.Set("Content-Type", form.FormDataContentType())
	return b.do(req)
}

// fixtureFile reads an invented logger file.
func fixtureFile(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "ingest", name))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

var chosenTile = regexp.MustCompile(`<input type="radio" name="([^"]*)" value="([^"]*)" checked`)

// chosen returns the tiles that a page has chosen beforehand.
func (p page) chosen() url.Values {
	v := url.Values{}
	for _, m := range chosenTile.FindAllStringSubmatch(p.Body, -1) {
		v.Set(m[1], html.UnescapeString(m[2]))
	}
	return v
}

// storeShown sends the preview as it stands, with more answers.
func (b *browser) storeShown(at string, p page, do string, more ...string) page {
	f := p.chosen()
	f.Set("shown", p.hidden().Get("shown"))
	f.Set("do", do)
	for i := 0; i+1 < len(more); i += 2 {
		f.Set(more[i], more[i+1])
	}
	return b.post(at, f)
}

// longSeason moves the delivery back so that the invented files of 2024 and 2025
// fall inside the season.
func longSeason(ts *testServer) *logbook.Season {
	ts.t.Helper()
	d := ts.one.Deliveries[0]
	d.On = civil.MustParse("2017-12-01")
	_, err := ts.DB.CorrectDelivery(ts.t.Context(), ts.coordinator, d.ID, d.Revision, d, "wrong_date", testNow, nil)
	ts.must(err)
	return ts.load(ts.one)
}

// Every small file goes through the pages. The wanted numbers were counted by
// hand in the text of the invented files (the zone is Halifax).
func TestImportFixtures(t *testing.T) {
	for _, c := range []struct {
		file    string
		answers []string // what a person says
		stored  int
		first   string
		refused int
	}{
		{"bom_title.csv", nil, 3, "2025-01-10T12:00:00Z", 0},
		{"utf16_tab_events.txt", nil, 3, "2025-01-16T16:45:00Z", 0},
		{"semicolon_decimal_comma.csv", []string{"series", "4"}, 3, "2025-01-13T10:00:00Z", 0},
		{"interleaved.csv", nil, 2, "2025-01-28T16:25:00Z", 0},
		{"split_ampm_both_units.csv", nil, 3, "2025-03-25T03:15:00Z", 1},
		{"two_digit_year.csv", []string{"date_order", "dmy"}, 3, "2024-05-18T11:00:00Z", 0},
		{"day_or_month.csv", []string{"date_order", "mdy"}, 3, "2025-03-04T12:00:00Z", 0},
		{"unix_seconds.txt", nil, 2, "2025-01-10T07:00:00Z", 0},
		{"depths_long.csv", []string{"series", "3/2"}, 2, "2025-01-10T12:00:00Z", 1},
		{"daily_two_tanks_blank_tail.csv", []string{"series", "3"}, 3, "2025-01-10", 0},
		{"comment_header_tab.txt", nil, 2, "2025-01-10", 0},
		{"clock_changes.csv", nil, 4, "2025-03-09T05:30:00Z", 2},
		{"clock_changes.csv", []string{"zone", "-04:00"}, 6, "2025-03-09T05:30:00Z", 0},
		{"every_refusal.csv", nil, 3, "2025-01-10T12:00:00Z", 8},
	} {
		t.Run(c.file, func(t *testing.T) {
			ts := newTestServer(t)
			season := longSeason(ts)
			b := ts.as(ts.keeper)
			at := b.sendFile(season, "readings", c.file, fixtureFile(t, c.file)).want(t, 303).Location
			p := b.get(at).want(t, 200, "Nothing is stored yet")
			if c.answers != nil {
				to := b.storeShown(at, p, "show", c.answers...).want(t, 303).Location
				p = b.get(to).want(t, 200)
			}
			to := b.storeShown(at, p, "store").want(t, 303).Location
			b.get(to).want(t, 200, "This file is stored", c.file)
			got := ts.load(season).Readings
			if len(got) != c.stored {
				t.Fatalf("%d readings, want %d", len(got), c.stored)
			}
			first := got[0].At.Format(time.RFC3339)
			if got[0].At.IsZero() {
				first = got[0].On.String()
			}
			if first != c.first {
				t.Errorf("first %s, want %s", first, c.first)
			}
			list, err := ts.DB.Imports(t.Context(), season.ID)
			if err != nil || len(list) != 1 || imports.RefusedRows(list[0].Refused) != c.refused {
				t.Fatalf("imports %+v %v, want %d refused", list, err, c.refused)
			}
			csv := b.get(seasonPath(season, "imports/"+string(list[0].ID)+"/refused.csv")).want(t, 200,
				"line,last_line,reason,text")
			if n := strings.Count(csv.Body, "\n"); n != 1+len(list[0].Refused) {
				t.Errorf("%d lines of CSV for %d refusals", n, len(list[0].Refused))
			}
		})
	}
}

// 03/04 is asked about: nothing is chosen beforehand, storing without an answer
// stores nothing, and what was answered is what is stored.
func TestImportAsksForTheOrder(t *testing.T) {
	ts := newTestServer(t)
	season := longSeason(ts)
	b := ts.as(ts.keeper)
	at := b.sendFile(season, "readings", "d.csv", fixtureFile(t, "day_or_month.csv")).want(t, 303).Location
	p := b.get(at).want(t, 200, "Your answer is needed", "3 April 2025", "4 March 2025")
	if p.chosen().Has("date_order") || strings.Contains(p.Body, `value="store"`) {
		t.Error("the order was guessed, or storing was offered")
	}
	b.storeShown(at, p, "store").want(t, 422, "Choose one answer", "Error: ", `href="#date_order"`)
	if n := len(ts.load(season).Readings); n != 0 {
		t.Fatalf("%d readings stored without an answer", n)
	}
	// An answer and "store" in one step: the page is shown first.
	to := b.storeShown(at, p, "store", "date_order", "dmy").want(t, 303).Location
	p = b.get(to).want(t, 200, "Store 3 readings", "3 April 2025, 08:00", "7.5")
	if len(ts.load(season).Readings) != 0 {
		t.Fatal("stored what no page had shown")
	}
	// Changing the answer beside the button does not store the old one.
	to2 := b.storeShown(at, p, "store", "date_order", "mdy").want(t, 303).Location
	b.get(to2).want(t, 200, "4 March 2025, 08:00")
	if len(ts.load(season).Readings) != 0 {
		t.Fatal("stored another order than the page showed")
	}
	b.storeShown(at, p, "store").want(t, 303)
	if r := ts.load(season).Readings; len(r) != 3 || r[0].On.String() != "2025-04-03" {
		t.Errorf("stored %+v", r)
	}
}

// The same file again changes nothing, and says so.
func TestImportTwice(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	file := []byte("time,temp C\n2026-01-10 08:00,9\n2026-01-19 08:00,7\n2026-01-21 08:00,7.1\n2026-01-22 08:00,14\n2026-01-23 08:00,7.3\n2026-03-01 08:00,7\n")
	at := b.sendFile(ts.one, "readings", "logger.csv", file).want(t, 303).Location
	p := b.get(at).want(t, 200, "Store 3 readings", "before the eggs came on 20 January 2026",
		"still to come: today is 10 February 2026", "2–3")
	to := b.storeShown(at, p, "store").want(t, 303).Location
	b.get(to).want(t, 200, "3 readings stored.", "2 readings are from before", "This reading is still to come").
		lacks(t, "[import.")
	before := ts.load(ts.one)
	if len(before.Readings) != 3 {
		t.Fatalf("%d readings", len(before.Readings))
	}
	at = b.sendFile(ts.one, "readings", "again.csv", file).want(t, 303).Location
	p = b.get(at).want(t, 200)
	to = b.storeShown(at, p, "store").want(t, 303).Location
	b.get(to).want(t, 200, "Nothing new: all 3 readings were there already.", "logger.csv").lacks(t, "again.csv")
	after := ts.load(ts.one)
	if after.Revision != before.Revision || !slices.Equal(after.Readings, before.Readings) {
		t.Errorf("the season changed: %d %d", before.Revision, after.Revision)
	}
}

// Suspect readings are stored with their reason; a daily mean keeps its date.
func TestImportMarksAndDays(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	at := b.sendFile(ts.one, "readings", "d.csv",
		[]byte("date,temp C\n2026-01-21,7\n2026-01-22,60\n2026-01-23,7.2\n")).want(t, 303).Location
	p := b.get(at).want(t, 200, "Stored with a mark", "Impossible for water in a tank")
	b.storeShown(at, p, "store").want(t, 303)
	r := ts.load(ts.one).Readings
	if len(r) != 3 || !r[0].At.IsZero() || r[0].On.String() != "2026-01-21" {
		t.Fatalf("stored %+v", r)
	}
	if r[1].Quality != logbook.Suspect || r[1].Reason != ingest.ReasonImpossible || r[1].Temperature != 60 {
		t.Errorf("the impossible value is %+v", r[1])
	}
}

func TestImportRefusesFiles(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	for _, c := range []struct {
		name, kind string
		data       []byte
		text       string
	}{
		{"a.bin", "readings", []byte("time,temp\n2025-01-10 08:00,\x00\x01\n"), "not a text file"},
		{"a.csv", "readings", nil, "This file is empty"},
		{"a.xlsx", "readings", []byte("PK\x03\x04...."), "as a spreadsheet"},
		{"a.csv", "readings", []byte("date,flow\n2025-01-10,246\n2025-01-11,243\n"), "looks like a water temperature"},
		{"a.csv", "readings", fixtureFile(t, "comma_both.csv"), "Commas part the columns"},
		{"a.csv", "checks", []byte("on,temperature\n"), "no checks below it"},
		{"", "readings", nil, "Choose a file first"},
	} {
		b.sendFile(ts.one, c.kind, c.name, c.data).want(t, 422, c.text, "Error: ")
	}
	b.sendFile(ts.one, "readings", "big.csv", make([]byte, req.MaxUpload+1)).want(t, 413, "20 MB")
	b.sendFile(ts.one, "readings", "big.csv", make([]byte, req.MaxUpload+100<<10)).want(t, 413, "20 MB")
	b.post(seasonPath(ts.one, "import"), fields("kind", "readings")).want(t, 422, "Choose a file first")
	at := b.sendFile(ts.one, "readings", "o.csv",
		[]byte("time,DO (mg/L)\n2026-01-21 08:00,11.2\n2026-01-21 09:00,11.1\n")).want(t, 303).Location
	p := b.get(at).want(t, 200, "no temperature").lacks(t, `value="store"`)
	b.storeShown(at, p, "store").want(t, 422)
	if n := len(ts.load(ts.one).Readings); n != 0 {
		t.Errorf("%d readings stored", n)
	}
}

// Only staff of the site, and only the session that sent a file, sees it; it
// waits for an hour.
func TestImportAccess(t *testing.T) {
	ts := newTestServer(t)
	keeper := ts.as(ts.keeper)
	file := fixtureFile(t, "bom_title.csv")
	at := keeper.sendFile(ts.one, "readings", "a.csv", file).want(t, 303).Location
	paths := []string{seasonPath(ts.one, "import"), at, at + "/refused.csv", seasonPath(ts.one, "imports/x"),
		seasonPath(ts.one, "imports/x/refused.csv")}
	for _, path := range paths {
		ts.as(ts.class).get(path).want(t, 403)
		ts.as(ts.birchKeeper).get(path).want(t, 404)
		if p := ts.as(logbook.Actor{}).get(path); p.Status != 303 || !strings.HasPrefix(p.Location, "/sign-in") {
			t.Errorf("%s without a sign-in: %d", path, p.Status)
		}
	}
	ts.as(ts.class).sendFile(ts.one, "readings", "a.csv", file).want(t, 403)
	ts.as(ts.birchKeeper).sendFile(ts.one, "readings", "a.csv", file).want(t, 404)
	ts.as(ts.birchKeeper).post(at, fields("do", "store")).want(t, 404)
	ts.as(ts.keeper).get(at).want(t, 404, "not here any more")
	ts.as(ts.keeper).post(at, fields("do", "store")).want(t, 404, "not here any more")
	other := strings.Replace(at, string(ts.one.ID), string(ts.two.ID), 1)
	keeper.get(other).want(t, 404)
	for _, id := range []string{"..%2f..%2freddside.db", strings.Repeat("a", 26), "x"} {
		keeper.get(seasonPath(ts.one, "import/"+id)).want(t, 404)
	}
	keeper.get(at).want(t, 200)
	ts.at(testNow.Add(imports.UploadLifetime))
	keeper.get(at).want(t, 404, "not here any more")
}

// The spool stays small and cleans itself.
func TestSpoolIsBounded(t *testing.T) {
	sp := imports.Spool{Dir: t.TempDir()}
	count := func() int {
		files, err := os.ReadDir(sp.Dir)
		if err != nil {
			t.Fatal(err)
		}
		return len(files)
	}
	for i := range 10 {
		if _, err := sp.Put(imports.Upload{Owner: "one", Name: "a", Data: []byte("x")},
			testNow.Add(time.Duration(i)*time.Second)); err != nil {
			t.Fatal(err)
		}
	}
	if count() != imports.UploadsOfOne {
		t.Errorf("%d files of one session", count())
	}
	for i := range 40 {
		if _, err := sp.Put(imports.Upload{Owner: string(rune('A' + i)), Data: []byte("x")},
			testNow.Add(time.Minute+time.Duration(i)*time.Second)); err != nil {
			t.Fatal(err)
		}
	}
	if count() != imports.UploadsAtOnce {
		t.Errorf("%d files of all", count())
	}
	if _, err := sp.Put(imports.Upload{Owner: "late", Data: []byte("x")}, testNow.Add(2*time.Hour)); err != nil {
		t.Fatal(err)
	}
	if count() != 1 {
		t.Errorf("%d files after their time", count())
	}
}

// Names and headings from outside stay text everywhere.
func TestImportNamesAreHarmless(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	evil := `</script><script>alert(1)</script>`
	data := []byte("time,\"temp C " + evil + "\",\"=cmd()" + evil + "\"\n2026-01-21 08:00,7," + evil +
		"\n2026-01-22 08:00,=1+" + evil +
		",x\n2026-01-23 08:00,7.1,x\n2026-01-24 08:00,7.2,x\n2026-01-25 08:00,7.3,x\n")
	at := b.sendFile(ts.one, "readings", evil+`.csv`, data).want(t, 303).Location
	p := b.get(at).want(t, 200).lacks(t, "<script>alert")
	to := b.storeShown(at, p, "store").want(t, 303).Location
	b.get(to).want(t, 200).lacks(t, "<script>alert")
	b.get(seasonPath(ts.one, "import")).want(t, 200).lacks(t, "<script>alert")
	b.get(seasonPath(ts.one, "")[:len(seasonPath(ts.one, ""))-1]).want(t, 200).lacks(t, "<script>alert")
	csv := b.get(to+"/refused.csv").want(t, 200)
	if !strings.Contains(csv.Body, "'=1+") && !strings.Contains(csv.Body, "\u201c=1+") {
		t.Errorf("the CSV has %q", csv.Body)
	}
	for in, want := range map[string]string{`C:\x\a.csv`: "a.csv", "../../b.csv": "b.csv",
		"a\x00\u202eb\n.csv": "ab.csv", "": "", strings.Repeat("é", 90): strings.Repeat("é", 79) + "…"} {
		if got := entries.CleanFileName(in); got != want {
			t.Errorf("CleanFileName(%q) = %q, want %q", in, got, want)
		}
	}
}
