package web

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/store"
)

// Pupils counted 2 on Friday and 40 on Monday: every page says what was entered on
// which day, in the history still true when read later.
func TestDeathsAreSaidDayByDay(t *testing.T) {
	ts := newTestServer(t)
	for d := civil.MustParse("2026-01-21"); d.Before(civil.MustParse("2026-02-06")); d = d.AddDays(1) {
		ts.check(ts.one, d, 7, 0)
	}
	ts.check(ts.one, civil.MustParse("2026-02-06"), 7, 2)
	ts.at(time.Date(2026, 2, 9, 13, 0, 0, 0, time.UTC))
	ts.as(ts.class).post(seasonPath(ts.one, "checks"), plainCheck("on", "2026-02-09", "dead_eggs", "40", "confirm",
		"dead_eggs")).want(t, 303)
	keeper := ts.as(ts.keeper)
	for _, path := range []string{"/morning", "/seasons/" + string(ts.one.ID), "/flags?kind=act", "/board"} {
		keeper.get(path).want(t, 200, "Dead: 40 today, 2 on Friday.").lacks(t, "42 dead")
	}
	french := ts.as(ts.keeper)
	french.post("/language", fields("language", "fr", "back", "/morning")).want(t, 303)
	french.get("/morning").want(t, 200, "Morts\u00a0: 40 aujourd’hui, 2 vendredi.")
	ts.check(ts.one, civil.MustParse("2026-02-10"), 7, 6)
	ts.at(testNow)
	keeper = ts.as(ts.keeper)
	keeper.get("/morning").want(t, 200, "Dead: 6 today, 40 yesterday.").lacks(t, "46 dead")
	keeper.get("/seasons/"+string(ts.one.ID)+"/flags").want(t, 200, "Dead: 40 on 9 Feb").lacks(t, "40 today")
	if f := ts.flagOn(ts.one, "dead"); !strings.Contains(string(f.Args), "daily") {
		t.Errorf("kept words %s", f.Args)
	}
}

// A flag raised at 11 °C and grown to 12.5 °C speaks of 12.5 °C wherever it is open
// or set aside; what it said first stands in the history.
func TestOpenFlagsSayToday(t *testing.T) {
	ts := newTestServer(t)
	ts.quietSeason(ts.one)
	class := ts.as(ts.class)
	class.post(seasonPath(ts.one, "checks"), plainCheck("temperature", "11", "confirm", "temperature")).want(t, 303)
	day2 := testNow.AddDate(0, 0, 1)
	ts.at(day2)
	class = ts.as(ts.class)
	class.post(seasonPath(ts.one, "checks"), plainCheck("on", "2026-02-11", "temperature", "12.5", "confirm",
		"temperature")).want(t, 303)
	keeper, boss := ts.as(ts.keeper), ts.as(ts.coordinator)
	f := ts.flagOn(ts.one, "water")
	if !strings.Contains(string(f.Args), "11") {
		t.Fatalf("raised anew: %s", f.Args)
	}
	now, then := "12.5\u00a0°C", "11.0\u00a0°C"
	aside := "/flags/" + string(f.ID) + "/aside"
	for _, path := range []string{"/flags?rule=" + f.Rule, aside, "/flags/" + string(f.ID) + "/finding"} {
		keeper.get(path).want(t, 200, now).lacks(t, then)
	}
	keeper.post(aside, fields("reason", "part ordered", "how", "day", "until", "2026-02-12")).want(t, 303)
	keeper.get("/flags?state=aside&rule="+f.Rule).want(t, 200, now).lacks(t, then)
	boss.get("/flags/load").want(t, 200, now).lacks(t, then)
	keeper.post("/language", fields("language", "fr", "back", "/morning")).want(t, 303)
	keeper.get("/flags?state=aside&rule="+f.Rule).want(t, 200, "12,5\u00a0°C").lacks(t, "11,0\u00a0°C")
	class.get("/seasons/"+string(ts.one.ID)+"/flags").want(t, 200, then)
}

// Keeper, tablet and report have one rule for the day of delivery: no check is due.
func TestDayOfDeliveryAsksNoCheck(t *testing.T) {
	ts := newTestServer(t)
	ts.at(time.Date(2026, 1, 20, 15, 0, 0, 0, time.UTC))
	keeper, class := ts.as(ts.keeper), ts.as(ts.class)
	keeper.get("/morning").want(t, 200, "No check is due today.")
	class.get("/today").want(t, 200, "No check is due today.").lacks(t, "wait for", "All checks are done")
	class.post("/language", fields("language", "fr", "back", "/today")).want(t, 303)
	class.get("/today").want(t, 200, "Aucune vérification n’est prévue aujourd’hui.")
	s := ts.load(ts.one)
	if c := report.CompletenessOf(s, civil.MustParse("2026-01-20"), false); c.DaysDue != 0 || len(c.Gaps) != 0 {
		t.Errorf("the report counts a missed day: %+v", c)
	}
	if c := report.CompletenessOf(s, civil.MustParse("2026-01-21"), false); c.DaysDue != 1 {
		t.Errorf("the day after: %+v", c)
	}
}

// More flags than one page holds: the page says which it shows and leads on.
func TestFlagsArePaged(t *testing.T) {
	ts := newTestServer(t)
	_, err := ts.DB.UpdateFlags(t.Context(), ts.keeper, ts.one.ID, testNow,
		func(*logbook.Season, []store.Flag) (out []store.FlagChange, err error) {
			for i := range 320 {
				out = append(out, store.FlagChange{Op: store.Raise, Rule: "ammonia", Subject: fmt.Sprint(i),
					Kind: "watch",
					On:   testToday})
			}
			return out, nil
		})
	ts.must(err)
	keeper := ts.as(ts.keeper)
	keeper.get("/flags?rule=ammonia").want(t, 200, "Flags 1 to 300 of 320.", `rel="next"`, "page=2").lacks(t,
		`rel="prev"`)
	keeper.get("/flags?rule=ammonia&page=2").want(t, 200, "Flags 301 to 320 of 320.", `rel="prev"`).lacks(t,
		`rel="next"`)
	keeper.post("/language", fields("language", "fr", "back", "/flags")).want(t, 303)
	keeper.get("/flags?rule=ammonia&page=2").want(t, 200, "Signaux 301 à 320 sur 320.")
}
