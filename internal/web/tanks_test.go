package web

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/PuerkitoBio/goquery"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

var testToday = civil.MustParse("2026-02-10")

// check stores a morning check as if it had been entered at 13:00 UTC of its day.
func (ts *testServer) check(s *logbook.Season, on civil.Date, t units.Celsius, dead int,
	more ...func(*logbook.Check)) logbook.Check {
	ts.t.Helper()
	c := logbook.Check{SeasonID: s.ID, On: on, Slot: logbook.Morning, Temperature: units.Some(t),
		TemperatureEntered: fmt.Sprint(float64(t)),
		TemperatureUnit:    units.Cel, Chiller: logbook.Running, Filter: logbook.Running, DeadEggs: units.Some(dead),
		Stage: logbook.EyedEgg}
	for _, f := range more {
		f(&c)
	}
	saved, err := ts.DB.SaveCheck(context.Background(), ts.keeper, c, on.Start(time.UTC).Add(13*time.Hour),
		store.Write{})
	ts.must(err)
	return saved.Row
}

// quietSeason logs a check for every day from the day after delivery to before today.
func (ts *testServer) quietSeason(s *logbook.Season) {
	ts.t.Helper()
	for d := s.StartedOn().AddDays(1); d.Before(testToday); d = d.AddDays(1) {
		if d.Sub(s.StartedOn()) != 7 {
			ts.check(s, d, 7, 0)
		}
	}
}

func (p page) doc(t testing.TB) *goquery.Document {
	t.Helper()
	doc, err := goquery.NewDocumentFromReader(strings.NewReader(p.Body))
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

// tankDoc loads a tank page and checks what holds for each.
func tankDoc(t *testing.T, b *browser, path string) *goquery.Document {
	t.Helper()
	got := b.get(path).want(t, 200)
	if i := strings.Index(got.Body, "[tank."); i >= 0 {
		t.Errorf("a text is missing: %.60s", got.Body[i:])
	}
	doc := got.doc(t)
	if n := doc.Find("h1").Length(); n != 1 {
		t.Errorf("%d h1", n)
	}
	ids := map[string]bool{}
	doc.Find("[id]").Each(func(_ int, s *goquery.Selection) {
		id := s.AttrOr("id", "")
		if ids[id] {
			t.Errorf("id %q stands twice", id)
		}
		ids[id] = true
	})
	doc.Find("script").Each(func(_ int, s *goquery.Selection) {
		_, external := s.Attr("src")
		if !external && s.AttrOr("type", "") != "application/json" {
			t.Error("an inline script")
		}
	})
	if doc.Find("[style], [onclick], [onload]").Length() > 0 {
		t.Error("an inline style or handler")
	}
	doc.Find("figure.chart").Each(func(_ int, f *goquery.Selection) {
		name := f.AttrOr("id", "")
		if f.Find("figcaption p").Text() == "" || f.Find("table caption").Text() == "" ||
			strings.HasSuffix(path, "/charts") && f.Find(`a[href*="table="]`).Length() != 1 {
			t.Errorf("%s: finding, table or CSV is missing", name)
		}
		if _, open := f.Find("details.numbers").Attr("open"); !open {
			t.Errorf("%s: without script the numbers are hidden", name)
		}
		f.Find(".plot").Each(func(_ int, p *goquery.Selection) {
			if p.AttrOr("role", "") != "img" || p.AttrOr("aria-label", "") == "" {
				t.Errorf("%s: a drawing without words", name)
			}
			if !json.Valid([]byte(doc.Find("#" + p.AttrOr("data-chart", "none")).Text())) {
				t.Errorf("%s: no option", name)
			}
		})
	})
	return doc
}

func TestTankPageFine(t *testing.T) {
	ts := newTestServer(t)
	ts.quietSeason(ts.one)
	ts.check(ts.one, testToday, 7, 0)
	for _, lang := range []string{"en", "fr"} {
		b := ts.as(ts.keeper)
		b.lang = lang
		doc := tankDoc(t, b, pathOf(ts.one))
		if doc.Find("h1 .status.due").Length() != 1 {
			t.Errorf("%s: status %s", lang, doc.Find("h1").Text())
		}
		if doc.Find(`a.primary[href$="/checks/new"]`).Length() != 1 {
			t.Errorf("%s: no way to do a check", lang)
		}
		if n := doc.Find("figure.chart").Length(); n != 1 {
			t.Errorf("%s: %d figures beside what to do now", lang, n)
		}
		if doc.Find(".ruler svg").Length() != 2 || doc.Find(".forecast .events li").Length() != 4 {
			t.Errorf("%s: ruler or forecast is missing", lang)
		}
		// The other parts are links with an address.
		if n := doc.Find("nav.tabs a").Length(); n != 4 {
			t.Errorf("%s: %d parts", lang, n)
		}
		doc = tankDoc(t, b, pathOf(ts.one)+"/charts")
		if n := doc.Find("figure.chart").Length(); n != 3 {
			t.Errorf("%s: %d figures", lang, n)
		}
		if n := doc.Find(".plot").Length(); n != 4 {
			t.Errorf("%s: %d charts", lang, n)
		}
		facts := tankDoc(t, b, pathOf(ts.one)+"/facts").Find("dl.facts").Text()
		cat, err := i18n.Load()
		ts.must(err)
		p := cat.Printer(lang, units.Cel)
		for _, key := range []string{"tank.fact.alive", "tank.fact.dead", "tank.fact.unexplained"} {
			if !strings.Contains(facts, p.T(key)) {
				t.Errorf("%s: no %q among the facts", lang, p.T(key))
			}
		}
		// 20 checks after delivery, one day without, and the delivery itself.
		if n := tankDoc(t, b, pathOf(ts.one)+"/log").Find("table.log tbody tr").Length(); n != 21 {
			t.Errorf("%s: %d rows in the log", lang, n)
		}
	}
}

func pathOf(s *logbook.Season) string { return "/seasons/" + string(s.ID) }

func TestTankPageAct(t *testing.T) {
	ts := newTestServer(t)
	ts.quietSeason(ts.one)
	ts.check(ts.one, testToday, 15, 0, func(c *logbook.Check) {
		c.Confirmed, c.Chiller = []string{"temperature"},
			logbook.Stopped
	})
	doc := tankDoc(t, ts.as(ts.keeper), pathOf(ts.one))
	if doc.Find("h1 .status.act").Length() != 1 {
		t.Fatalf("status %s", doc.Find("h1").Text())
	}
	card := doc.Find("article.flag.act").First()
	if card.Find("ol li").Length() == 0 || card.Find("h3 .status svg").Length() != 1 ||
		card.Find(".terms").Text() == "" {
		t.Error("a flag without what to do, shape or terms")
	}
	if finding := doc.Find("#figure-temperature figcaption p").Text(); !strings.Contains(finding,
		"left the safe range on 1 day") {
		t.Errorf("finding %q", finding)
	}
	pupils := tankDoc(t, ts.as(ts.class), pathOf(ts.one))
	if pupils.Find("article.flag .for-class").Length() == 0 {
		t.Error("pupils do not read what they can do")
	}
	if pupils.Find(`a[href$="/events/new"], a[href$="/import"]`).Length() != 0 {
		t.Error("a class sees pages that it may not open")
	}
}

func TestTankPageNoCheckToday(t *testing.T) {
	ts := newTestServer(t)
	ts.quietSeason(ts.one)
	doc := tankDoc(t, ts.as(ts.keeper), pathOf(ts.one))
	if doc.Find("h1 .status.fine").Length() != 0 {
		t.Error("a tank that nobody looked at is shown as fine")
	}
	if now := doc.Find(".tank-head .now").Text(); !strings.Contains(now, "yesterday, Monday 9 Feb") {
		t.Errorf("age of the last check: %q", now)
	}
}

func TestTankPageBeforeDelivery(t *testing.T) {
	ts := newTestServer(t)
	ctx := context.Background()
	k, err := ts.DB.CreateTank(ctx, ts.coordinator, logbook.Tank{SiteID: ts.alder.ID, Name: "Tank 9", Volume: 100,
		Wall: logbook.BareGlass}, testNow, store.IdempotencyKey{})
	ts.must(err)
	b := ts.as(ts.keeper)
	b.get("/tanks/"+string(k.ID)).want(t, 200, "no open season", "Start a season")
	s, err := ts.DB.CreateSeason(ctx, ts.coordinator, logbook.Season{Label: "2025-26", Tank: k, Lot: ts.lot}, testNow,
		store.IdempotencyKey{})
	ts.must(err)
	if got := b.get("/tanks/" + string(k.ID)); got.Status != 303 || got.Location != pathOf(s) {
		t.Errorf("%d to %s", got.Status, got.Location)
	}
	doc := tankDoc(t, b, pathOf(s))
	if doc.Find(`a[href$="/checks/new"]`).Length() != 0 ||
		doc.Find(`a.primary[href$="/deliveries/new"]`).Length() != 1 {
		t.Error("before the delivery the delivery comes first")
	}
	if doc.Find("figure.chart, h1 .status, .ruler svg").Length() != 0 {
		t.Error("something is drawn of an empty tank")
	}
}

func TestTankPageWithoutForecast(t *testing.T) {
	ts := newTestServer(t)
	ctx := context.Background()
	lot, err := ts.DB.CreateLot(ctx, ts.coordinator, logbook.Lot{Code: "L9", Species: logbook.AtlanticSalmon}, testNow,
		store.IdempotencyKey{})
	ts.must(err)
	k, err := ts.DB.CreateTank(ctx, ts.coordinator, logbook.Tank{SiteID: ts.alder.ID, Name: "Tank 9", Volume: 100,
		Wall: logbook.BareGlass}, testNow, store.IdempotencyKey{})
	ts.must(err)
	s, err := ts.DB.CreateSeason(ctx, ts.coordinator, logbook.Season{Label: "2025-26", Tank: k, Lot: lot}, testNow,
		store.IdempotencyKey{})
	ts.must(err)
	_, err = ts.DB.CreateDelivery(ctx, ts.coordinator, logbook.Delivery{SeasonID: s.ID, On: testToday.AddDays(-5),
		Count: 100, Method: logbook.ByHand}, testNow, store.Write{})
	ts.must(err)
	s, err = ts.DB.LoadSeason(ctx, s.ID)
	ts.must(err)
	ts.check(s, testToday, 7, 1)
	doc := tankDoc(t, ts.as(ts.keeper), pathOf(s))
	if doc.Find(".ruler svg").Length() != 0 || strings.TrimSpace(doc.Find(".ruler-missing").Text()) == "" {
		t.Error("no reason why there is no forecast")
	}
	doc = tankDoc(t, ts.as(ts.keeper), pathOf(s)+"/charts")
	if doc.Find("#figure-development").Length() != 0 || doc.Find("#figure-temperature, #figure-dead").Length() != 2 {
		t.Error("without a forecast the other charts stay")
	}
}

func TestTankPageClosedSeason(t *testing.T) {
	ts := newTestServer(t)
	ts.quietSeason(ts.one)
	s := ts.load(ts.one)
	s.ClosedOn = testToday.AddDays(-1)
	_, err := ts.DB.UpdateSeason(context.Background(), ts.coordinator, *s, testNow)
	ts.must(err)
	doc := tankDoc(t, ts.as(ts.keeper), pathOf(ts.one))
	if doc.Find(`a[href$="/checks/new"], h1 .status, article.flag`).Length() != 0 {
		t.Error("a closed season asks for something")
	}
	if !strings.Contains(doc.Find(".tank-head .notice").Text(), "9 February 2026") {
		t.Error("the page does not say when it ended")
	}
	ts.as(ts.keeper).get("/tanks/"+string(ts.tank1.ID)).want(t, 200, pathOf(ts.one))
}

// Suspect readings are marked on the chart and in the table, and do not move
// the safe range or the finding.
func TestTankPageSuspectReadings(t *testing.T) {
	ts := newTestServer(t)
	loc := ts.alder.Location()
	var rs []logbook.Reading
	at := ts.one.StartedOn().AddDays(1).Start(loc)
	for i := range 19 * 24 * 4 {
		when := at.Add(time.Duration(i) * 15 * time.Minute)
		r := logbook.Reading{At: when, On: civil.In(when, loc),
			Temperature: units.Celsius(7 + 0.4*math.Sin(float64(i)/15)), Quality: logbook.Good}
		if i == 500 || i == 501 {
			r.Temperature, r.Quality, r.Reason = 85, logbook.Suspect, "ingest.suspect.impossible"
		}
		rs = append(rs, r)
	}
	_, err := ts.DB.SaveReadings(context.Background(), ts.keeper,
		store.Import{SeasonID: ts.one.ID, FileName: "logger.csv", FileSHA256: strings.Repeat("a", 64)}, rs, testNow,
		nil)
	ts.must(err)
	ts.check(ts.one, testToday, 7, 0)
	b := ts.as(ts.keeper)
	doc := tankDoc(t, b, pathOf(ts.one))
	f := doc.Find("#figure-temperature")
	if strings.Contains(f.Find("figcaption p").Text(), "85") || !strings.Contains(f.Find(".keys").Text(), "suspect") {
		t.Errorf("finding %q, keys %q", f.Find("figcaption p").Text(), f.Find(".keys").Text())
	}
	if n := f.Find("tbody tr").Length(); n < 20 || n > 30 {
		t.Errorf("%d rows for three weeks", n)
	}
	if size := len(b.get(pathOf(ts.one)).Body); size > 80_000 {
		t.Errorf("the page takes %d bytes", size)
	}
	rows, err := csv.NewReader(strings.NewReader(b.get(pathOf(ts.one)+"/log.csv?table=temperature").want(t,
		200).Body)).ReadAll()
	ts.must(err)
	bad := civil.In(rs[500].At, loc).String()
	for _, r := range rows[1:] {
		want := "0"
		if r[0] == bad {
			want = "2"
		}
		if r[2] != "" && r[5] != want {
			t.Errorf("%s: %s suspect readings, want %s", r[0], r[5], want)
		}
	}
}

func TestLogShowsItsHistory(t *testing.T) {
	ts := newTestServer(t)
	ts.quietSeason(ts.one)
	ctx := context.Background()
	c := ts.check(ts.one, testToday, 7, 0)
	fixed := c
	fixed.DeadEggs = units.Some(2)
	_, err := ts.DB.CorrectCheck(ctx, ts.keeper, c.ID, c.Revision, fixed, "misread: counted twice", testNow, nil)
	ts.must(err)
	extra, err := ts.DB.SaveCheck(ctx, ts.keeper, logbook.Check{SeasonID: ts.one.ID, On: testToday.AddDays(-4),
		Slot: "extra", Temperature: units.Some[units.Celsius](7)}, testNow, store.Write{})
	ts.must(err)
	_, err = ts.DB.VoidCheck(ctx, ts.keeper, extra.Row.ID, extra.Row.Revision, "wrong_tank", testNow, nil)
	ts.must(err)
	doc := tankDoc(t, ts.as(ts.keeper), pathOf(ts.one)+"/log")
	first := doc.Find("table.log tbody tr").First()
	if first.Find(".mark-corrected").Length() != 1 ||
		!strings.Contains(first.Find(".history").Text(), "counted twice") {
		t.Errorf("newest row: %s", first.Text())
	}
	void := doc.Find("table.log tr.void")
	if void.Length() != 1 || void.Find(".mark-void").Length() != 1 || void.Find(".mark-late").Length() != 1 {
		t.Errorf("the row that was taken back: %s", void.Text())
	}
	if href := first.Find("a").AttrOr("href", ""); href != "/checks/"+string(c.ID) {
		t.Errorf("the row leads to %q", href)
	}
}

func TestTankOfAnotherSite(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.birchKeeper)
	for _, path := range []string{pathOf(ts.one), pathOf(ts.one) + "/chart.json", pathOf(ts.one) + "/log.csv",
		"/tanks/" + string(ts.tank1.ID), "/tanks/none", "/seasons/none"} {
		b.get(path).want(t, 404)
	}
}

const nasty = `</script><script>alert(1)</script>`

func TestNastyNamesAreHarmless(t *testing.T) {
	ts := newTestServer(t)
	k := ts.tank1
	k.Name = nasty
	_, err := ts.DB.UpdateTank(context.Background(), ts.coordinator, k, testNow)
	ts.must(err)
	ts.check(ts.one, testToday, 7, 0, func(c *logbook.Check) { c.Note, c.Observer = "=1+1"+nasty, nasty })
	b := ts.as(ts.keeper)
	got := b.get(pathOf(ts.one)).want(t, 200).lacks(t, nasty, "<script>alert")
	if !strings.Contains(got.doc(t).Find("h1").Text(), nasty) {
		t.Error("the name is not shown as it is")
	}
	b.get(pathOf(ts.one)+"/chart.json").want(t, 200).lacks(t, "<script>alert")
	out := b.get(pathOf(ts.one)+"/log.csv").want(t, 200)
	if !strings.HasPrefix(out.Header.Get("Content-Type"), "text/csv") ||
		!strings.Contains(out.Header.Get("Content-Disposition"), "attachment") {
		t.Error("the log is not a file")
	}
	rows, err := csv.NewReader(strings.NewReader(out.Body)).ReadAll()
	ts.must(err)
	if text := fmt.Sprint(rows[len(rows)-1]); !strings.Contains(text, "'=1+1") {
		t.Errorf("a spreadsheet would run the note: %s", text)
	}
}

func TestChartJSON(t *testing.T) {
	ts := newTestServer(t)
	ts.quietSeason(ts.one)
	b := ts.as(ts.class)
	var all map[string]map[string]any
	ts.must(json.Unmarshal([]byte(b.get(pathOf(ts.one)+"/chart.json").want(t, 200).Body), &all))
	if len(all) != 4 {
		t.Errorf("%d charts", len(all))
	}
	var one map[string]any
	ts.must(json.Unmarshal([]byte(b.get(pathOf(ts.one)+"/chart.json?name=chart-dead").want(t, 200).Body), &one))
	if one["series"] == nil {
		t.Error("no series")
	}
	b.get(pathOf(ts.one)+"/chart.json?name=none").want(t, 404)
	b.get(pathOf(ts.one)+"/log.csv?table=none").want(t, 404)
}
