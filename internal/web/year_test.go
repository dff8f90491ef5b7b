package web

import (
	"compress/gzip"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/web/board"
	"reddside/internal/web/school"
)

func TestBoardChoice(t *testing.T) {
	ts := newTestServer(t)
	ts.check(ts.one, testToday, 7, 0)
	boss, keeper, class := ts.as(ts.coordinator), ts.as(ts.keeper), ts.as(ts.class)
	boss.get("/board").want(t, 200, "Tank 1", "Tank 2", "Tank B", "More choices").lacks(t, "Keep this view")
	boss.get("/board?find=tank+b").want(t, 200, "Tank B", "Find: tank b", "Show every tank").lacks(t, ">Tank 1<")
	boss.get("/board?lot="+string(ts.lot.ID)).want(t, 200, "Lot: "+ts.lot.Code, "Keep this view")
	boss.get("/board?stage=fry&species=coho").want(t, 200, "No tank fits this choice")
	bySite := boss.get("/board?group=site").want(t, 200, "rowgroup", "Aldermoss School", "Birch Hill School")
	if n := strings.Count(bySite.Body, `scope="rowgroup"`); n != 2 {
		t.Errorf("%d groups, want two schools", n)
	}
	boss.get("/board?group=lot").want(t, 200, "Lot "+ts.lot.Code)
	boss.get("/board?group=moon&page=-3").want(t, 200).lacks(t, "rowgroup")
	boss.get("/board?find="+strings.Repeat("x", 5000)).want(t, 200, "No tank fits")
	// A keeper sees the own school only, whatever is asked.
	keeper.get("/board?find=tank").want(t, 200, "Tank 1").lacks(t, "Tank B", "Keep this view", "/programme/calendar")
	class.get("/board?group=site").want(t, 200, "Aldermoss School").lacks(t, "Birch Hill School")

	// A choice kept under a name.
	boss.get("/board/views?group=lot&stage=eyed_egg").want(t, 200, "by lot", "No view is kept yet")
	boss.post("/board/views", fields("query", "group=lot", "name", " ")).want(t, 422)
	boss.post("/board/views", fields("query", "group=lot&evil=1", "name", `<script>North`)).want(t, 303)
	boss.get("/board").want(t, 200, "&lt;script&gt;North", "/board?group=lot").lacks(t, "evil", "<script>North")
	boss.post("/board/views", fields("query", "group=site", "name", `<script>North`)).want(t, 303)
	list, err := ts.DB.BoardViews(t.Context())
	if err != nil || len(list) != 1 || list[0].Query != "group=site" {
		t.Fatalf("%+v %v", list, err)
	}
	remove := "/board/views/" + string(list[0].ID) + "/remove"
	keeper.post(remove, nil).want(t, 403)
	boss.post(remove, nil).want(t, 303)
	boss.post(remove, nil).want(t, 404)
	for i := range 20 {
		boss.post("/board/views", fields("query", "group=site", "name", fmt.Sprint("View ", i))).want(t, 303)
	}
	boss.post("/board/views", fields("query", "group=site", "name", "One more")).want(t, 422, "Take one away first",
		"One more")
}

// Groups stand together, the worst first, and every tank is shown once, however
// the board is cut into pages.
func TestBoardGroupsProperty(t *testing.T) {
	statuses := board.BoardStatuses()
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(0, 60).Draw(rt, "n")
		var all []*assess.BoardEntry
		for i := range n {
			e := &assess.BoardEntry{SeasonID: logbook.ID(fmt.Sprint("s", i))}
			e.Site.ID = logbook.ID(fmt.Sprint("site", rapid.IntRange(0, 5).Draw(rt, "site")))
			e.Site.Name = string(e.Site.ID)
			e.Lot.ID = logbook.ID(fmt.Sprint("lot", rapid.IntRange(0, 3).Draw(rt, "lot")))
			e.Tank.Name = fmt.Sprint("Tank ", i%7)
			e.Assessment.Status = rapid.SampledFrom(statuses).Draw(rt, "status")
			all = append(all, e)
		}
		c := board.BoardChoice{Group: rapid.SampledFrom([]string{"", board.GroupSite, board.GroupLot}).Draw(rt,
			"group")}
		out := c.Filter(all)
		c.Sort(out)
		seen, closed := map[logbook.ID]bool{}, map[logbook.ID]bool{}
		worst := map[logbook.ID]int{}
		for i, e := range out {
			if seen[e.SeasonID] {
				rt.Fatalf("%s twice", e.SeasonID)
			}
			seen[e.SeasonID] = true
			g, order := c.GroupOf(e), e.Assessment.Status.Order()
			if i > 0 {
				before := out[i-1]
				if last := c.GroupOf(before); last != g {
					closed[last] = true
					if closed[g] {
						rt.Fatalf("group %s is torn", g)
					}
					if order < worst[last] {
						rt.Fatalf("a group with %v after one with %v", order, worst[last])
					}
				} else if order < before.Assessment.Status.Order() {
					rt.Fatalf("not worst first inside %s", g)
				}
			}
			if _, known := worst[g]; !known {
				worst[g] = order
			}
		}
		if len(seen) != n {
			rt.Fatalf("%d of %d tanks", len(seen), n)
		}
	})
	if statuses[0] != rules.StatusAct {
		t.Error("the worst status is not the first")
	}
}

func TestYearCalendar(t *testing.T) {
	ts := newTestServer(t)
	s := ts.load(ts.one)
	s.ReleaseFrom, s.ReleaseBy = testToday.AddDays(20), testToday.AddDays(25)
	_, err := ts.DB.UpdateSeason(t.Context(), ts.coordinator, *s, testNow)
	ts.must(err)
	boss, keeper := ts.as(ts.coordinator), ts.as(ts.keeper)
	page := boss.get("/programme/calendar").want(t, 200, "Week of", "Tank 1", "Aldermoss School",
		"Swim-up may come too late", "1 tank the fry may not")
	if strings.Index(page.Body, "Week of") == strings.LastIndex(page.Body, "Week of") {
		t.Error("only one week")
	}
	csv := boss.get("/programme/calendar.csv").want(t, 200, "event,from,most_likely,to",
		"release,"+testToday.AddDays(20).String(), ",yes")
	csv.lacks(t, "<")
	keeper.get("/programme/calendar").want(t, 403)
	for d, want := range map[string]string{"2026-03-02": "2026-03-02", "2026-03-01": "2026-02-23",
		"2026-03-08": "2026-03-02"} {
		if got := school.Monday(civil.MustParse(d)); got.String() != want {
			t.Errorf("week of %s begins %s, want %s", d, got, want)
		}
	}
}

func TestNewYear(t *testing.T) {
	ts := newTestServer(t)
	ts.check(ts.one, testToday.AddDays(-1), 7, 0)
	boss, keeper := ts.as(ts.coordinator), ts.as(ts.keeper)
	boss.get("/programme/new-year").want(t, 200, "Tank 1", "alive by the log", "No season has ended yet")
	boss.post("/programme/new-year", fields("closed_on", testToday.String())).want(t, 422, "Tick at least one season")
	boss.post("/programme/new-year", fields("closed_on", "", "season", string(ts.one.ID))).want(t, 422,
		"Enter the date", "checked")
	boss.post("/programme/new-year", fields("closed_on", testToday.AddDays(3).String(), "season",
		string(ts.one.ID))).want(t, 422)
	// All or none: tank 1 has an entry after that day.
	both := fields("closed_on", testToday.AddDays(-5).String(), "season", string(ts.one.ID))
	both.Add("season", string(ts.two.ID))
	boss.post("/programme/new-year", both).want(t, 422, "Tank 1, Aldermoss School has an entry on")
	if !ts.load(ts.two).ClosedOn.IsZero() {
		t.Error("tank 2 was ended though tank 1 could not be")
	}
	keeper.post("/programme/new-year", both).want(t, 403)
	both.Set("closed_on", testToday.String())
	boss.post("/programme/new-year", both).want(t, 303)
	boss.post("/programme/new-year", both).want(t, 409, "has ended already")
	page := boss.get("/programme/new-year").want(t, 200, "2025-26: 2 seasons", "Delivery day")
	page.lacks(t, `value="`+string(ts.one.ID)+`"`)
	// Last year stays readable.
	boss.get("/seasons/"+string(ts.one.ID)).want(t, 200, "Tank 1")
	keeper.get("/seasons/"+string(ts.one.ID)+"/report").want(t, 200)
}

// Text is made smaller on the wire for a browser that asks for it.
func TestCompressed(t *testing.T) {
	ts := newTestServer(t)
	r := httptest.NewRequest(http.MethodGet, "/calculators", nil)
	r.Host, r.RemoteAddr = "localhost", "127.0.0.1:50000"
	r.Header.Set("Accept-Encoding", "gzip")
	w := httptest.NewRecorder()
	ts.ServeHTTP(w, r)
	if w.Header().Get("Content-Encoding") != "gzip" || !slices.Contains(w.Header().Values("Vary"), "Accept-Encoding") {
		t.Fatalf("headers %v", w.Header())
	}
	z, err := gzip.NewReader(w.Body)
	ts.must(err)
	page, err := io.ReadAll(z)
	ts.must(err)
	if !strings.Contains(string(page), "</html>") {
		t.Error("the page is cut")
	}
}
