package web

import (
	"net/url"
	"strings"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// After "a few hatched" the words follow, in both languages, and no card stands empty:
// the eggs came eyed, so nothing is said of eyes.
func TestAFewHatchedInWords(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	ts.look(ts.one, testDay, func(c *logbook.Check) { c.Hatched, c.Stage = logbook.HatchedFew, logbook.EyedEgg })
	b := ts.as(ts.keeper)
	b.get(seasonPath(ts.one, "forecast")).want(t, 200, "It has begun: a few were seen on Tuesday 10 February").
		lacks(t, `id="event-eyed"`, "before the eggs arrived")
	b.get("/seasons/"+string(ts.one.ID)).want(t, 200, "a few were seen on")
	b.lang = "fr"
	b.get(seasonPath(ts.one, "forecast")).want(t, 200, "Cela a commencé")
}

// No sentence twice on the forecast page, and none that says a doubt fell from a
// number to the same number.
func TestForecastSaysNothingTwice(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	ts.look(ts.one, testDay, func(c *logbook.Check) { c.Hatched = logbook.HatchedHalf })
	for _, lang := range []string{"en", "fr"} {
		b := ts.as(ts.keeper)
		b.lang = lang
		page := b.get(seasonPath(ts.one, "forecast")).want(t, 200)
		seen := map[string]bool{}
		for _, line := range strings.Split(page.Body, "<li>")[1:] {
			text, _, _ := strings.Cut(line, "</li>")
			if seen[text] && !strings.Contains(text, "<") {
				t.Errorf("twice: %s", text)
			}
			seen[text] = true
			if before, now, ok := strings.Cut(text, "fell from "); ok && before != "" {
				from, to, _ := strings.Cut(strings.TrimSuffix(now, "."), " to ")
				if from == to {
					t.Errorf("says nothing: %s", text)
				}
			}
		}
	}
}

// One look on the day the eggs came, and three warm weeks without another: the page
// says that they may have hatched, and a stage that was worked out says so on board,
// tablet and tank.
func TestNobodyLookedInWords(t *testing.T) {
	ts := newTestServer(t)
	ts.look(ts.one, "2026-01-20", func(c *logbook.Check) { c.Temperature = units.Some[units.Celsius](12) })
	b := ts.as(ts.keeper)
	b.get(seasonPath(ts.one, "forecast")).want(t, 200, "Nobody has noted the state of the eggs since before",
		"nobody has seen it yet")
	for _, path := range []string{"/board", "/today"} {
		b.get(path).want(t, 200, "alevin (worked out, not seen)")
	}
	b.get("/seasons/"+string(ts.one.ID)).want(t, 200, "worked out from temperature")
}

// At 20 C the calculators say that the eggs die; no calculator has fry swim before
// they hatch.
func TestCalculatorsAtTheExtremes(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	const development = "/calculators/development?asked=yes&species=atlantic_salmon&temperature_c="
	b.get(development+"20").want(t, 200, "Eggs of this species die in such water")
	b.get(development+"7").want(t, 200).lacks(t, "die in such water")
	q := url.Values{"asked": {"yes"}, "species": {"atlantic_salmon"}, "start_on": {"2026-01-10"},
		"thermal_units": {"300"}, "mean_temperature_c": {"6"}, "future_c": {"20"}}
	b.get("/calculators/forecast?"+q.Encode()).want(t, 200, "Eggs of this species die in such water")
	b.lang = "fr"
	b.get(development+"20").want(t, 200, "meurent dans une telle eau")
}

// A tank set to 20 C has no date but the reason.
func TestATankTooWarmHasNoDate(t *testing.T) {
	ts := newTestServer(t)
	for i := range 21 {
		c := units.Celsius(4)
		if i >= 17 {
			c = 20
		}
		ts.look(ts.one, civil.MustParse("2026-01-20").AddDays(i).String(), func(k *logbook.Check) {
			k.Temperature, k.Hatched = units.Some(c), logbook.HatchedNone
		})
	}
	ts.as(ts.keeper).get(seasonPath(ts.one, "forecast")).want(t, 200, "eggs die at",
		"no date, because the fish die in this water")
}

// What the planner says of no change is the forecast's day.
func TestPlannerAgreesWithTheForecast(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	ts.look(ts.one, testDay, func(c *logbook.Check) { c.Temperature = units.Some[units.Celsius](6) })
	day := ts.wanted(0)
	p := ts.Cat.Printer("en", units.Cel)
	ts.as(ts.keeper).get(asked(ts.one, "by", ts.wanted(-8).String())).want(t, 200,
		"If nothing changes, by the forecast: "+p.DateWeekday(day)+" (half swim up).")
}
