package web

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// quietWords are what pages say of a tank of which nothing is open.
var quietWords = regexp.MustCompile(`Nothing to do|Nothing needs attention|tanks? (is|are) fine|\bFine\b`)

// While a flag, a question of the rules or an unread message stands open, no page
// calls its tank fine; before it, pages do.
func TestNoPageCallsAnOpenTankFine(t *testing.T) {
	class := func(ts *testServer) logbook.Actor {
		return logbook.Actor{Role: logbook.Class, SiteID: ts.birch.ID, Label: "Class, Birch Hill School"}
	}
	// said is what the pages of the school say of Tank B, by address.
	said := func(ts *testServer) map[string]string {
		out := map[string]string{}
		site, tank := "/sites/"+string(ts.birch.ID), pathOf(ts.far)
		for who, pages := range map[*logbook.Actor][]string{
			&ts.birchKeeper: {"/morning", "/board", site, site + "/calendar", site + "/round", tank, tank + "/facts", tank + "/log",
				tank + "/charts", tank + "/flags", tank + "/forecast", tank + "/survival", tank + "/food"},
			&ts.coordinator: {"/board", tank, "/flags"},
		} {
			for _, path := range pages {
				out[string(who.Role)+" "+path] = ts.as(*who).get(path).want(t, 200).doc(t).Find("main").Text()
			}
		}
		c := ts.as(class(ts))
		for _, path := range []string{"/today", "/board", tank, tank + "/class", site + "/wall", tank + "/families"} {
			out["class "+path] = c.get(path).want(t, 200).doc(t).Find("main").Text()
		}
		for where, text := range out {
			if strings.HasSuffix(where, "/board") { // the choices above the table name every status
				_, text, _ = strings.Cut(text, "Tank B")
			}
			out[where] = quietWords.FindString(text)
		}
		return out
	}
	for name, open := range map[string]func(ts *testServer){
		"nothing": func(*testServer) {},
		"a flag": func(ts *testServer) {
			ts.as(ts.birchKeeper).post(seasonPath(ts.far, "checks"), plainCheck("on", "2026-01-26", "slot", "extra",
				"temperature", "44.6", "chiller", "stopped")).want(t, 303)
		},
		"a message": func(ts *testServer) {
			ts.as(ts.coordinator).post(seasonPath(ts.far, "notes"), fields("body", "Is the spare pump there?")).want(t, 303)
		},
	} {
		t.Run(name, func(t *testing.T) {
			ts := newTestServer(t)
			ts.keeper = ts.birchKeeper
			ts.at(time.Date(2026, 1, 26, 18, 0, 0, 0, time.UTC))
			for d := civil.MustParse("2026-01-21"); !d.After(civil.MustParse("2026-01-26")); d = d.AddDays(1) {
				ts.check(ts.far, d, 7, 0)
			}
			open(ts)
			found := 0
			for where, text := range said(ts) {
				if text != "" {
					found++
				}
				if name != "nothing" && text != "" && (name != "a message" || !strings.HasPrefix(where, "c")) {
					t.Errorf("%s: %q with %s open", where, text, name)
				}
			}
			if name == "nothing" && found < 5 {
				t.Errorf("only %d pages call a quiet tank fine: the test would see nothing", found)
			}
		})
	}
}
