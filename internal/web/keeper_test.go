package web

import (
	"strings"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/board"
)

func TestMorningSaysHowItIs(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	if p := b.get("/"); p.Location != "/morning" {
		t.Errorf("a keeper starts at %s", p.Location)
	}
	check := func(s *logbook.Season, on string, c logbook.Check) {
		t.Helper()
		c.SeasonID, c.On, c.Slot = s.ID, civil.MustParse(on), logbook.Morning
		_, err := ts.DB.SaveCheck(t.Context(), ts.keeper, c, testNow, store.Write{})
		ts.must(err)
	}
	fine := func(v units.Celsius) logbook.Check {
		return logbook.Check{Temperature: units.Some(v), Chiller: logbook.Running, Filter: logbook.Running,
			DeadEggs: units.Some(0), Stage: logbook.EyedEgg}
	}
	check(ts.one, "2026-02-09", fine(7))
	check(ts.two, "2026-02-09", fine(7.2))
	// 10 February 2026 is a Tuesday: both checks are to do, and nobody calls a
	// tank fine that was not looked at.
	b.get("/morning").want(t, 200, "Tuesday 10 February",
		"Nobody has looked at the 2 tanks today. 2 checks are still to do.",
		seasonPath(ts.one, "checks/new"), roundPath(ts), "/closed-days/new", "Nobody is named for today").lacks(t,
		"Tank B", "are fine")
	check(ts.one, "2026-02-10", fine(7.1))
	b.get("/morning").want(t, 200, "There is something to do at Tank 1. One check is still to do.", "Since yesterday:",
		"7.1\u00a0°C").lacks(t, roundPath(ts))
	check(ts.two, "2026-02-10", fine(7.2))
	b.get("/morning").want(t, 200, "There is something to do at 2 tanks: Tank 1, Tank 2. Every check of today is done.",
		"Look every day for empty shells")

	c := ts.load(ts.two).Checks[1]
	c.Filter = logbook.Stopped
	c.AirPump = logbook.Stopped
	_, err := ts.DB.CorrectCheck(t.Context(), ts.keeper, c.ID, 1, c, "misread", testNow, nil)
	ts.must(err)
	p := b.get("/morning").want(t, 200, "Tank 2 needs you now.")
	if strings.Index(p.Body, `aria-label="Tank 2"`) > strings.Index(p.Body, `aria-label="Tank 1"`) {
		t.Error("the tank that needs somebody is not first")
	}
	// A coordinator may open it for each school, another keeper may not.
	ts.as(ts.coordinator).get("/sites/"+string(ts.alder.ID)+"/morning").want(t, 200, "Tank 2 needs you now.")
	ts.as(ts.birchKeeper).get("/sites/"+string(ts.alder.ID)+"/morning").want(t, 404)
	if p := ts.as(ts.coordinator).get("/morning"); p.Location != "/sites" {
		t.Errorf("a coordinator's morning leads to %q", p.Location)
	}
}

// On a Monday what changed is told since Friday, after a holiday since the day
// before it.
func TestMorningLooksBackToASchoolDay(t *testing.T) {
	site := logbook.Site{}
	d := civil.MustParse
	spans := []logbook.ClosedSpan{{From: d("2026-02-16"), To: d("2026-02-20")}}
	for _, x := range []struct {
		today, want string
		weekends    logbook.Weekends
	}{
		{"2026-02-10", "2026-02-09", ""}, // a Tuesday
		{"2026-02-09", "2026-02-06", ""}, // a Monday
		{"2026-02-09", "2026-02-08", logbook.WeekendsLookedAt},
		{"2026-02-23", "2026-02-13", ""}, // the Monday after the holiday
		{"2026-02-23", "2026-02-22", logbook.WeekendsLookedAt},
	} {
		site.Weekends = x.weekends
		if got := board.LookedBefore(site, spans, d(x.today), false); got != d(x.want) {
			t.Errorf("%s %q: since %s, want %s", x.today, x.weekends, got, x.want)
		}
	}
}

func TestDutyListAndCover(t *testing.T) {
	ts := newTestServer(t)
	b, path := ts.as(ts.keeper), "/sites/"+string(ts.alder.ID)
	form := b.get(path+"/duty").want(t, 200, "A group or a role", "Tuesday")
	week := joined(fields("revision", form.hidden().Get("revision"), "who_1", "Group A", "who_2", "Group B"))
	b.post(path+"/duty", joined(week, fields("who_3", strings.Repeat("g", 41)))).want(t, 422,
		"The most is 40 characters", "Group B", "Wednesday")
	if p := b.post(path+"/duty", week); p.Status != 303 {
		t.Fatalf("saved: %s", p.show())
	}
	b.get("/morning").want(t, 200, "Group B")
	ts.as(ts.class).get("/today").want(t, 200, "Group B")
	b.post(path+"/duty", joined(fields("revision", "0", "who_2", "Group C"))).want(t, 409) // an old form
	l, err := ts.DB.DutyList(t.Context(), ts.alder.ID)
	ts.must(err)
	l.Week.Who[time.Tuesday] = "Group C"
	_, err = ts.DB.SaveDutyWeek(t.Context(), ts.keeper, l.Week, testNow)
	ts.must(err)
	past, err := ts.DB.RowHistory(t.Context(), l.Week.ID)
	ts.must(err)
	if len(past) != 1 || !strings.Contains(string(past[0].Row), "Group B") {
		t.Errorf("history %+v", past)
	}

	for _, x := range []struct{ from, to, who, want string }{
		{"", "2026-02-12", "Caretaker", "Enter the date"}, {"2026-02-14", "2026-02-12", "Caretaker",
			"must not be before"},
		{"2026-02-10", "2026-02-12", "", "Say who looks"}, {"2026-02-30", "2026-03-12", "Caretaker", "no such day"},
	} {
		b.post(path+"/cover", fields("from", x.from, "to", x.to, "who", x.who, "note", "key 7")).want(t, 422, x.want,
			"key 7")
	}
	key := b.get(path+"/cover/new").want(t, 200).hidden().Get("key")
	cover := fields("key", key, "from", "2026-02-10", "to", "2026-02-12", "who", "Caretaker", "note", "key 7")
	for range 2 { // a double tap
		if p := b.post(path+"/cover", cover); p.Status != 303 {
			t.Fatalf("cover: %s", p.show())
		}
	}
	if l, err = ts.DB.DutyList(t.Context(), ts.alder.ID); err != nil || len(l.Covers) != 1 {
		t.Fatalf("%v, covers %+v", err, l.Covers)
	}
	b.get("/morning").want(t, 200, "Caretaker").lacks(t, "Group C")
	edit := path + "/cover/" + string(l.Covers[0].ID) + "/correct"
	b.get(edit).want(t, 200, "Caretaker", "key 7")
	b.post(edit, fields("revision", "1", "from", "2026-02-10", "to", "2026-02-12", "who", "Office")).want(t, 422,
		"Say why", "Office")
	b.post(edit, fields("revision", "1", "remove", "yes", "why", "wrong week")).want(t, 303)
	b.get("/morning").want(t, 200, "Group C").lacks(t, "Caretaker")
	ts.as(ts.birchKeeper).get(path+"/duty").want(t, 404)
	ts.as(ts.birchKeeper).get("/sites/"+string(ts.birch.ID)+"/cover/"+string(l.Covers[0].ID)+"/correct").want(t, 404)
	ts.as(ts.class).get(path+"/duty").want(t, 403)
}

// missingRule reports whether a missing check is told of a season, and since when.
func (ts *testServer) missing(s *logbook.Season) (found bool, since civil.Date) {
	ts.t.Helper()
	a, err := ts.Assess.Assess(ts.t.Context(), ts.load(s), ts.clockAt())
	ts.must(err)
	for _, f := range a.Assessment.Flags {
		if f.Rule == rules.CheckMissing {
			return true, f.Since
		}
	}
	return false, civil.Date{}
}

func TestClosedDaysAreCorrectedAndWeekendsCount(t *testing.T) {
	ts := newTestServer(t)
	b, path := ts.as(ts.keeper), "/sites/"+string(ts.alder.ID)
	_, err := ts.DB.SaveCheck(t.Context(), ts.keeper,
		logbook.Check{SeasonID: ts.one.ID, On: civil.MustParse("2026-02-06"), Slot: logbook.Morning,
			Temperature: units.Some[units.Celsius](7)}, testNow, store.Write{})
	ts.must(err)
	b.post(path+"/closed-days", fields("from", "2026-02-07", "to", "2026-02-10", "reason", "Wrong week")).want(t, 303)
	if found, since := ts.missing(ts.one); found {
		t.Errorf("missing since %s on a closed day", since)
	}
	spans, err := ts.DB.ClosedSpans(t.Context(), ts.alder.ID)
	ts.must(err)
	edit := path + "/closed-days/" + string(spans[0].ID) + "/correct"
	b.get(edit).want(t, 200, "Wrong week", `value="2026-02-07"`)
	b.post(edit, fields("revision", "1", "from", "2026-02-10", "to", "2026-02-09", "why", "x")).want(t, 422,
		"must not be before")
	b.post(edit, fields("revision", "1", "from", "2026-02-09", "to", "2026-02-09", "reason", "Storm")).want(t, 422,
		"Say why")
	b.post(edit, fields("revision", "1", "from", "2026-02-09", "to", "2026-02-09", "reason", "Storm", "why",
		"only Monday")).want(t, 303)
	if found, since := ts.missing(ts.one); !found || since != civil.MustParse("2026-02-10") {
		t.Errorf("missing %v since %s, want Tuesday", found, since)
	}
	b.post(edit, fields("revision", "1", "remove", "yes", "why", "old form")).want(t, 409)
	b.post(edit, fields("revision", "2", "remove", "yes", "why", "school was open")).want(t, 303)
	if _, since := ts.missing(ts.one); since != civil.MustParse("2026-02-09") {
		t.Errorf("missing since %s, want Monday", since)
	}
	b.get(edit).want(t, 404)

	site := b.get(path+"/edit").want(t, 200, "at weekends", `value="programme" checked`)
	save := fields("revision", site.hidden().Get("revision"), "name", "Aldermoss School", "zone", "America/Halifax",
		"language", "en", "temperature_unit", "Cel")
	b.post(path+"/edit", joined(save, fields("weekends", "sometimes"))).want(t, 422, "Choose one of the answers")
	b.post(path+"/edit", joined(save, fields("weekends", "looked_at"))).want(t, 303)
	if _, since := ts.missing(ts.one); since != civil.MustParse("2026-02-07") {
		t.Errorf("missing since %s, want Saturday at a school that looks at weekends", since)
	}
	page := b.get(seasonPath(ts.one, "")[:len(seasonPath(ts.one, ""))-1]).want(t, 200, path+"/closed-days/new")
	if rule := rules.StatusAct; !strings.Contains(page.Body, string(rule)) {
		t.Error("days without a look ask nobody to act")
	}
}

func TestNotesBetweenKeeperAndCoordinator(t *testing.T) {
	ts := newTestServer(t)
	keeper, boss := ts.as(ts.keeper), ts.as(ts.coordinator)
	path := seasonPath(ts.one, "notes")
	keeper.get(path).want(t, 200, "No messages yet")
	keeper.post(path, fields("body", " ")).want(t, 422, "Write the message first")
	keeper.post(path, fields("body", strings.Repeat("b", 501), "asks", "yes")).want(t, 422,
		"The most is 500 characters", "checked")
	key := keeper.get(path).hidden().Get("key")
	ask := fields("key", key, "body", "Can you bring <ice>?", "asks", "yes")
	keeper.post(path, ask).want(t, 303)
	keeper.post(path, ask).want(t, 303)
	list, err := ts.DB.Notes(t.Context(), ts.one.ID)
	ts.must(err)
	if len(list) != 1 || list[0].By != logbook.Keeper {
		t.Fatalf("notes %+v", list)
	}
	boss.get("/board").want(t, 200, "1 message waits for you", "1 message<")
	boss.get("/notes").want(t, 200, "Can you bring &lt;ice&gt;?", "Waits for an answer", "Tank 1")
	keeper.get("/notes").want(t, 200, "No message waits for you", "without an answer yet")
	boss.post(path+"/seen", fields()).want(t, 303)
	keeper.get(path).want(t, 200, "Seen by Coordinator")
	boss.get("/notes").want(t, 200, "Can you bring") // seen is not answered
	boss.post(path, fields("body", "Yes, at ten.", "answers", string(list[0].ID))).want(t, 303)
	boss.get("/notes").want(t, 200, "No message waits for you")
	keeper.get("/morning").want(t, 200, "Yes, at ten.")
	keeper.get(strings.TrimSuffix(path, "/notes")).want(t, 200, "Yes, at ten.", "I have seen this message")
	keeper.post(path+"/seen", fields("back", "/morning")).want(t, 303)
	keeper.get("/morning").want(t, 200).lacks(t, "Yes, at ten.")

	withdraw := path + "/" + string(list[0].ID) + "/withdraw"
	boss.get(withdraw).want(t, 409) // the other side wrote it
	keeper.get(withdraw).want(t, 200, "It stays readable")
	keeper.post(withdraw, fields("revision", "1")).want(t, 422, "Say why")
	keeper.post(withdraw, fields("revision", "1", "why", "wrong tank")).want(t, 303)
	boss.get(path).want(t, 200, "<s>Can you bring", "Taken back by", "wrong tank")
	ts.as(ts.class).get(path).want(t, 403)
	ts.as(ts.class).get(strings.TrimSuffix(path, "/notes")).want(t, 200).lacks(t, "Yes, at ten.")
	ts.as(ts.birchKeeper).post(path, fields("body", "x")).want(t, 404)
	// An answer to a note of another season is none.
	ts.as(ts.birchKeeper).post(seasonPath(ts.far, "notes"), fields("body", "x", "answers", string(list[0].ID))).want(t,
		404)

	api := ts.program(ts.coordinator)
	api.post("/seasons/"+string(ts.one.ID)+"/notes", `{"body":""}`).wantProblem(t, 422, "body", "note.empty")
	if n := len(api.get("/seasons/"+string(ts.one.ID)+"/notes").want(t, 200).field(t, "items").([]any)); n != 2 {
		t.Errorf("%d notes by JSON", n)
	}
	tables, _ := unzip(t, api.get("/export").want(t, 200))
	if len(tables["notes"]) != 2 || tables["notes"][0]["status"] != "voided" ||
		tables["notes"][0]["seen_by_coordinator_at"] == "" {
		t.Errorf("exported %v", tables["notes"])
	}
}

// TestClosedDaysSentTwice: a form that comes twice, because its answer was lost,
// is one entry; other days in the same form are another.
func TestClosedDaysSentTwice(t *testing.T) {
	ts := newTestServer(t)
	b, path := ts.as(ts.keeper), "/sites/"+string(ts.alder.ID)+"/closed-days"
	form := b.get(path+"/new").want(t, 200).hidden()
	form.Set("from", "2026-02-12")
	form.Set("to", "2026-02-13")
	form.Set("reason", "Snow")
	count := func(want int) {
		t.Helper()
		spans, err := ts.DB.ClosedSpans(t.Context(), ts.alder.ID)
		if err != nil || len(spans) != want {
			t.Errorf("%d entries of closed days, want %d; %v", len(spans), want, err)
		}
	}
	b.post(path, form).want(t, 303)
	b.post(path, form).want(t, 303)
	count(1)
	form.Set("to", "2026-02-14")
	b.post(path, form).want(t, 303)
	count(2)
}
