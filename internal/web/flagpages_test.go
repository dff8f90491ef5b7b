package web

import (
	"context"
	"encoding/csv"
	"strings"
	"testing"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/flags"
)

// flagOn returns the newest flag of a subject in a season.
func (ts *testServer) flagOn(s *logbook.Season, subject string) store.Flag {
	ts.t.Helper()
	list, err := ts.DB.Flags(context.Background(), s.ID, true)
	ts.must(err)
	for i := len(list) - 1; i >= 0; i-- {
		if list[i].Subject == subject {
			return list[i]
		}
	}
	ts.t.Fatalf("no flag about %s in %+v", subject, list)
	return store.Flag{}
}

// The life of a flag as people meet it: raised by a check, seen, set aside within
// what its rule allows, ended early, over, and each step in the journal.
func TestFlagLifeOnPages(t *testing.T) {
	ts := newTestServer(t)
	keeper, class, boss := ts.as(ts.keeper), ts.as(ts.class), ts.as(ts.coordinator)
	class.post(seasonPath(ts.one, "checks"), plainCheck("chiller", "stopped")).want(t, 303)
	f := ts.flagOn(ts.one, "chiller")
	tank := "/seasons/" + string(ts.one.ID)

	// Board, tank, seen: two addresses and one button.
	board := keeper.get("/board").want(t, 200, tank+"#flag-"+string(f.ID), "2 flags that nobody has seen",
		"The chiller has been stopped")
	board.lacks(t, "set aside")
	keeper.get(tank).want(t, 200, `action="/flags/`+string(f.ID)+`/seen"`, "Nobody has seen it yet",
		`id="flag-`+string(f.ID)+`"`)
	class.get(tank).want(t, 200, "Nobody has seen it yet").lacks(t, "/seen", "/aside\"")
	class.post("/flags/"+string(f.ID)+"/seen", nil).want(t, 403)

	keeper.post("/flags/"+string(f.ID)+"/seen", fields("back", tank)).want(t, 303)
	keeper.get(tank).want(t, 200, "Seen by Keeper, Aldermoss School").lacks(t, "/seen\"")
	if now := ts.flagOn(ts.one, "chiller"); !now.Open() {
		t.Error("seeing it ended it")
	}
	keeper.get("/board").want(t, 200, "1 flag that nobody has seen") // of tank 2, where checks are missing

	// Set aside: a reason, an end, no longer than the rule allows.
	aside := "/flags/" + string(f.ID) + "/aside"
	latest := ts.load(ts.one).Checks[0].On.AddDays(flags.RestOf(f.Rule))
	keeper.get(aside).want(t, 200, latest.String())
	for _, c := range []struct {
		form []string
		want string
	}{
		{[]string{"how", "day", "until", latest.String()}, "Why"},
		{[]string{"reason", "part ordered"}, "Choose an answer"},
		{[]string{"reason", "part ordered", "how", "day"}, "Enter the date"},
		{[]string{"reason", "part ordered", "how", "day", "until", latest.AddDays(1).String()}, "no longer than"},
		{[]string{"reason", "part ordered", "how", "day", "until", "2026-02-09"}, "or later"},
		{[]string{"reason", "part ordered", "how", "day", "until", "2026-02-31"}, "no such day"},
		{[]string{"reason", "part ordered", "how", "for ever"}, "one of the answers"},
	} {
		p := keeper.post(aside, fields(c.form...)).want(t, 422, c.want)
		for i := 0; i+1 < len(c.form); i += 2 {
			if c.form[i] == "reason" {
				p.want(t, 422, c.form[i+1])
			}
		}
	}
	keeper.post(aside, fields("reason", "part ordered", "how", "day", "until", latest.String())).want(t, 303)
	page := keeper.get(tank).want(t, 200, "1 flag set aside", "part ordered", "Back to the list")
	if top, _, _ := strings.Cut(page.Body, `id="aside"`); strings.Contains(top, `id="flag-`+string(f.ID)+`"`) {
		t.Error("the flag is still among those that ask for attention")
	}
	boss.get("/board").want(t, 200, "1 set aside", "1 flag set aside")
	boss.get("/flags?state=aside").want(t, 200, "part ordered", "Aldermoss School")
	boss.get("/flags/load").want(t, 200, "part ordered", "local choice")
	// The status of the tank no longer asks for action, and says so.
	entries, err := ts.Assess.BoardEntries(context.Background(), ts.coordinator, ts.clockAt())
	ts.must(err)
	for _, e := range entries {
		if e.SeasonID == ts.one.ID && (e.Assessment.Status != "due" || e.Life.Aside != 1) {
			t.Errorf("status %s, %d set aside", e.Assessment.Status, e.Life.Aside)
		}
	}
	keeper.post("/flags/"+string(f.ID)+"/wake", nil).want(t, 303)
	keeper.get(tank).want(t, 200).lacks(t, "part ordered")

	// Over; the history has every step, for the class too.
	ts.at(testNow.Add(2 * time.Hour))
	keeper.post(seasonPath(ts.one, "checks"), plainCheck("slot", "extra")).want(t, 303)
	class.get(tank+"/flags").want(t, 200, "raised", "seen", "set aside", "back in the list, early", "ended",
		"part ordered")
	rows, err := csv.NewReader(strings.NewReader(strings.TrimPrefix(class.get(tank+"/flags.csv").want(t, 200).Body,
		"\ufeff"))).ReadAll()
	ts.must(err)
	var steps []string
	for _, r := range rows[1:] {
		if r[5] == "chiller" {
			steps = append(steps, r[1]+":"+r[7])
		}
	}
	if got := strings.Join(steps, " "); got != "raised:class seen:keeper set_aside:keeper aside_ended:keeper cleared:keeper" {
		t.Errorf("journal %q", got)
	}
	ts.as(ts.birchKeeper).get(tank+"/flags").want(t, 404)
	ts.as(ts.birchKeeper).get("/flags.csv").want(t, 200).lacks(t, string(f.ID))
	keeper.post(aside, fields("reason", "x", "how", "once")).want(t, 409)
}

// What a person saw was a watch; by the time of the tap it is to act on: the flag
// stays unseen, and nothing of a rest that was typed is lost.
func TestFlagThatGrewIsNotSeen(t *testing.T) {
	ts := newTestServer(t)
	keeper := ts.as(ts.keeper)
	keeper.post(seasonPath(ts.one, "checks"), plainCheck("chiller", "stopped")).want(t, 303)
	f := ts.flagOn(ts.one, "chiller")
	tank, path := "/seasons/"+string(ts.one.ID), "/flags/"+string(f.ID)
	less := map[string]string{"act": "watch", "watch": "due"}[f.Kind]
	keeper.post(path+"/seen", fields("back", tank, "kind", less)).want(t, 303)
	keeper.get(tank).want(t, 200, "Nobody has seen it yet", "more urgent by now")
	until := ts.load(ts.one).Checks[0].On.AddDays(1).String()
	keeper.post(path+"/aside", fields("reason", "part ordered", "how", "day", "until", until, "kind", less)).want(t,
		422, "more urgent by now", "part ordered")
	keeper.post(path+"/seen", fields("back", tank, "kind", f.Kind)).want(t, 303)
	keeper.get(tank).want(t, 200, "Seen by Keeper").lacks(t, "Nobody has seen it yet")
}

// A rest that runs out is in the journal on the day after its last, and only when
// nothing else ended it before.
func TestRestRunsOut(t *testing.T) {
	ts := newTestServer(t)
	keeper := ts.as(ts.keeper)
	keeper.post(seasonPath(ts.one, "checks"), plainCheck("chiller", "stopped")).want(t, 303)
	f := ts.flagOn(ts.one, "chiller")
	last := ts.load(ts.one).Checks[0].On.AddDays(1)
	keeper.post("/flags/"+string(f.ID)+"/aside", fields("reason", "part ordered", "how", "day", "until",
		last.String())).want(t, 303)
	history := "/seasons/" + string(ts.one.ID) + "/flags"
	ts.at(testNow.Add(24 * time.Hour)) // its last day
	keeper.get(history).want(t, 200, "set aside").lacks(t, "the time was over")
	ts.at(testNow.Add(48 * time.Hour))
	keeper = ts.as(ts.keeper)
	keeper.get(history).want(t, 200, "back in the list, the time was over")
	if csv := keeper.get(history + ".csv").Body; strings.Count(csv, ",aside_over,") != 1 {
		t.Errorf("journal: %s", csv)
	}
	keeper.post(seasonPath(ts.one, "checks"), plainCheck("on", last.AddDays(1).String())).want(t, 303)
	if csv := keeper.get(history + ".csv").Body; strings.Count(csv, ",aside_over,") != 1 {
		t.Errorf("journal after it ended: %s", csv)
	}
}

// An act flag stays until somebody said what it was, also when its cause is gone and
// somebody saw it; then it is over, with the reason of its end. A watch ends by itself.
func TestActStaysUntilItIsNamed(t *testing.T) {
	ts := newTestServer(t)
	keeper := ts.as(ts.keeper)
	keeper.post(seasonPath(ts.two, "checks"), plainCheck("filter", "stopped", "air_pump", "stopped")).want(t, 303)
	keeper.post(seasonPath(ts.one, "checks"), plainCheck("chiller", "stopped")).want(t, 303)
	f := ts.flagOn(ts.two, "power")
	if f.Kind != "act" || ts.flagOn(ts.one, "chiller").Kind != "watch" {
		t.Fatalf("kinds %s, %s", f.Kind, ts.flagOn(ts.one, "chiller").Kind)
	}
	keeper.post("/flags/"+string(f.ID)+"/seen", nil).want(t, 303)
	ts.at(testNow.Add(2 * time.Hour))
	keeper.post(seasonPath(ts.one, "checks"), plainCheck("slot", "extra")).want(t, 303)
	saved := keeper.post(seasonPath(ts.two, "checks"), plainCheck("slot", "extra", "air_pump", "running", "filter",
		"running")).want(t, 303)
	keeper.get(saved.Location).want(t, 200, ": solved")

	keeper.get(pathOf(ts.one)).want(t, 200).lacks(t, "Over: what was it?")
	finding := "/flags/" + string(f.ID) + "/finding"
	keeper.get(pathOf(ts.two)).want(t, 200, "Over: what was it?", finding,
		"an entry after it shows that it is right again")
	keeper.get("/board").want(t, 200, "1 over, not named")
	keeper.get("/morning").want(t, 200, "Over: what was it?", finding, "Keep an eye on Tank 2").lacks(t, "is fine")
	keeper.get("/flags?state=ended_unseen").want(t, 200, string(f.ID))
	status := func() string {
		entries, err := ts.Assess.BoardEntries(t.Context(), ts.coordinator, ts.clockAt())
		ts.must(err)
		for _, e := range entries {
			if e.SeasonID == ts.two.ID {
				return string(e.Assessment.Status)
			}
		}
		return ""
	}
	if got := status(); got != "watch" {
		t.Errorf("status %s while an act flag is not named", got)
	}
	keeper.post(finding, fields("finding", "real", "note", "a plug was loose")).want(t, 303)
	keeper.get(pathOf(ts.two)).want(t, 200).lacks(t, "Over: what was it?")
	keeper.get("/board").want(t, 200).lacks(t, "not named")
	if got := status(); got != "due" { // the hatch is expected
		t.Errorf("status %s after it was named", got)
	}
	keeper.get(seasonPath(ts.two, "flags")).want(t, 200, "Solved: an entry after it")
}

// A correction that takes the cause away is no solution, and a new limit is none
// either; water that another flag tells of now is part of that.
func TestWhyFlagsEnd(t *testing.T) {
	ts := newTestServer(t)
	keeper := ts.as(ts.keeper)
	ended := func(rule string) string {
		list, err := ts.DB.Flags(t.Context(), ts.one.ID, true)
		ts.must(err)
		for _, f := range list {
			if f.Rule == rule && !f.Open() {
				return f.EndWhy + " " + f.EndIn
			}
		}
		return "open"
	}
	c := ts.check(ts.one, testToday, 7, 0, func(c *logbook.Check) { c.Nitrite = units.Some[units.MgPerL](1) })
	ts.must(ts.Assess.SyncFlags(t.Context(), ts.keeper, ts.one.ID, testNow))
	// The program that entered it corrects it: the number was another tank's.
	form := keeper.get("/checks/"+string(c.ID)+"/correct").want(t, 200).hidden()
	form.Set("nitrite", "")
	keeper.post("/checks/"+string(c.ID)+"/correct", joined(form, plainCheck("reason", "wrong_tank"))).want(t, 303)
	if got := ended("nitrite"); got != "gone " {
		t.Errorf("after the correction: %q", got)
	}

	ts.check(ts.two, testToday, 7, 0, func(c *logbook.Check) { c.Nitrite = units.Some[units.MgPerL](0.1) })
	ts.must(ts.Assess.SyncFlags(t.Context(), ts.keeper, ts.two.ID, testNow))
	ts.at(testNow.Add(time.Hour))
	_, err := ts.DB.SetThreshold(t.Context(), ts.coordinator, store.Threshold{Key: "nitrite_watch",
		Value: units.Some(0.15)}, "local water", ts.clockAt(), nil)
	ts.must(err)
	ts.must(ts.Assess.SyncFlags(t.Context(), ts.keeper, ts.two.ID, ts.clockAt()))
	list, err := ts.DB.Flags(t.Context(), ts.two.ID, true)
	ts.must(err)
	raised := false
	for _, f := range list {
		raised = raised || f.Rule == "nitrite"
		if f.Rule == "nitrite" && (f.Open() || f.EndWhy != "limit") {
			t.Errorf("after a new limit: open %v, %q", f.Open(), f.EndWhy)
		}
	}
	if !raised {
		t.Error("nothing was raised")
	}
}

// News are what came since the reader's visit before this one.
func TestBoardNewsSinceLastVisit(t *testing.T) {
	ts := newTestServer(t)
	boss, keeper := ts.as(ts.coordinator), ts.as(ts.keeper)
	boss.get("/board").want(t, 200).lacks(t, "has news", "new entry")
	ts.at(testNow.Add(time.Hour))
	keeper.post(seasonPath(ts.one, "checks"), plainCheck()).want(t, 303)
	ts.at(testNow.Add(2 * time.Hour))
	boss.get("/board").want(t, 200, "1 tank has news", "new ")
	ts.at(testNow.Add(2*time.Hour + 10*time.Minute))
	boss.get("/board").want(t, 200, "1 tank has news")
	ts.at(testNow.Add(4 * time.Hour))
	boss.get("/board").want(t, 200).lacks(t, "has news")
	ts.at(testNow.Add(5 * time.Hour))
	keeper.post(seasonPath(ts.two, "checks"), plainCheck("chiller", "stopped")).want(t, 303)
	boss.get("/board").want(t, 200, "new flag")
}
