package web

import (
	"context"
	"strings"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// A group guesses, the eggs hatch, and the page shows guess, the forecast of the
// same day and what happened.
func TestGuessesOfAClass(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	b := ts.as(ts.class)
	p := b.get(seasonPath(ts.one, "guess")).want(t, 200, "No names of people", "Make a guess").lacks(t,
		"<svg class=\"strip", "How near")
	f := p.hidden()
	f.Set("group", "Group 3")
	f.Set("on", "2026-02-20")
	b.post(seasonPath(ts.one, "guess"), f).want(t, 303)
	b.post(seasonPath(ts.one, "guess"), f).want(t, 303) // sent twice
	b.get(seasonPath(ts.one, "guess")).want(t, 200, "The guess of Group 3 is kept", "Friday 20 February")
	if n := len(ts.load(ts.one).Guesses); n != 1 {
		t.Fatalf("%d guesses", n)
	}
	// One guess for each group, whatever the spelling.
	g := fields("group", "group  3", "on", "2026-02-22")
	b.post(seasonPath(ts.one, "guess"), g).want(t, 422, "has a guess already", `value="2026-02-22"`)
	b.post(seasonPath(ts.one, "guess"), fields("group", "Blue table", "on", "2026-02-14")).want(t, 303)
	for _, x := range []struct{ group, on, text string }{
		{"", "2026-02-14", "Write which group guesses"},
		{strings.Repeat("x", 25), "2026-02-14", "24"},
		{"Red", "2026-02-09", "9 February 2026 has passed"},
		{"Red", "2026-01-02", "before the eggs arrived"},
		{"Red", "2028-02-14", "too far ahead"},
		{"Red", "soon", "like 2026-02-14"},
		{"Red", "", "Enter the date"},
	} {
		b.post(seasonPath(ts.one, "guess"), fields("group", x.group, "on", x.on)).want(t, 422, x.text, `id="summary"`,
			`value="`+x.on+`"`)
	}
	// The forecast of the day of the guess, before anybody knew better.
	then, err := ts.Assess.Assess(context.Background(), ts.load(ts.one), testNow)
	ts.must(err)
	// A change of setpoint that was entered later is not known on that day.
	ts.at(testNow.Add(11 * 24 * time.Hour))
	_, err = ts.DB.CreateEvent(context.Background(), ts.keeper,
		logbook.Event{SeasonID: ts.one.ID, Kind: logbook.SetpointChange,
			On: civil.MustParse("2026-02-12"), Setpoint: units.Some[units.Celsius](4)}, ts.clockAt(), store.Write{})
	ts.must(err)
	ts.look(ts.one, "2026-02-16", func(c *logbook.Check) { c.Hatched = logbook.HatchedNone })
	ts.look(ts.one, "2026-02-18", func(c *logbook.Check) { c.Hatched = logbook.HatchedHalf })
	en := ts.Cat.Printer("en", units.Cel)
	h := &then.Forecast.Hatch
	p = b.get(seasonPath(ts.one, "guess")).want(t, 200,
		"Half of the eggs hatched between Tuesday 17 February and Wednesday 18 February",
		"Nearest: Group 3.", "2 days too late", "3 days too early", en.DateShort(h.P50)+" ("+en.DateShort(h.P10)+" to "+
			en.DateShort(h.P90)+")",
		`class="strip"`, "so guessing is over", `class="guess"`)
	p.lacks(t, "Make a guess", "[guess")
	b.post(seasonPath(ts.one, "guess"), fields("group", "Late", "on", "2026-02-25")).want(t, 422, "so guessing is over")
	fr := ts.as(ts.class)
	fr.lang = "fr"
	fr.get(seasonPath(ts.one, "guess")).want(t, 200, "Au plus près\u00a0: Group 3.", "2 jours trop tard").lacks(t,
		"[guess", "too late")
	ts.as(ts.birchKeeper).get(seasonPath(ts.one, "guess")).want(t, 404)
	ts.as(ts.birchKeeper).post(seasonPath(ts.one, "guess"), fields("group", "X", "on", "2026-02-25")).want(t, 404)
}

func TestGuessIsCorrectedWithAReason(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	b := ts.as(ts.class)
	b.post(seasonPath(ts.one, "guess"), fields("group", "Group 1", "on", "2026-02-20")).want(t, 303)
	b.post(seasonPath(ts.one, "guess"), fields("group", "Group 2", "on", "2026-02-24")).want(t, 303)
	id := string(ts.load(ts.one).Guesses[0].ID)
	path := "/guesses/" + id + "/correct"
	f := b.get(path).want(t, 200, "Correct a guess", `value="Group 1"`, `value="2026-02-20"`).hidden()
	f.Set("group", "Group 1")
	f.Set("on", "2026-02-21")
	b.post(path, f).want(t, 422, "Why does the guess change?")
	f.Set("reason", "misread")
	f.Set("group", "Group 2")
	b.post(path, f).want(t, 422, "has a guess already")
	f.Set("group", "Group 1")
	b.post(path, f).want(t, 303)
	b.get(seasonPath(ts.one, "guess")).want(t, 200, "Saturday 21 February", "mark-corrected")
	b.post(path, f).want(t, 409) // from an old page
	ts.as(ts.birchKeeper).get(path).want(t, 404)
	ts.as(ts.birchKeeper).post(path, f).want(t, 404)
}

func TestGuessThroughJSON(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	c := ts.program(ts.class)
	path := "/seasons/" + string(ts.one.ID) + "/guesses"
	c.post(path, `{"group":"Group 1","on":"2026-02-20"}`).want(t, 201, `"made_on":"2026-02-10"`)
	c.post(path, `{"group":"Group 1","on":"2026-02-20"}`).want(t, 200)
	c.post(path, `{"group":"GROUP 1","on":"2026-02-21"}`).wantProblem(t, 409, "", "guess.exists")
	c.post(path, `{"group":"Group 2","on":"2026-02-01"}`).wantProblem(t, 422, "on", "guess.past")
	c.get(path).want(t, 200, `"group":"Group 1"`)
	ts.program(ts.birchKeeper).get(path).want(t, 404)
}
