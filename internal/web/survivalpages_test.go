package web

import (
	"context"
	"strings"
	"testing"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// 186 of 200: the words for a class are those of the statistics notes (S1.5, S4).
func TestSurvivalPage(t *testing.T) {
	ts := newTestServer(t)
	url := seasonPath(ts.one, "survival")
	ts.as(ts.class).get(url).want(t, 200, "None of 200 died", "up to about 2 in 100")
	for i, dead := range []int{4, 0, 6, 4} {
		ts.check(ts.one, testToday.AddDays(i-12), 7, dead)
	}
	page := ts.as(ts.class).get(url).want(t, 200, "186 of 200 are alive, here or after release: 93 in every 100.",
		"between 86 and 97 in 100 would live", "A dead egg that nobody found still counts as alive",
		`data-chart="chart-survival-data"`)
	page.lacks(t, "Wilson", "Clopper", "Kaplan")
	svg := page.Body[strings.Index(page.Body, `viewBox="0 0 240 240"`):]
	svg = svg[:strings.Index(svg, "</svg>")]
	if alive, dead := strings.Count(svg, `class="alive"`), strings.Count(svg, `class="dead"`); alive != 93 ||
		dead != 7 {
		t.Errorf("%d dots live and %d died", alive, dead)
	}
	ts.as(ts.keeper).get(url).want(t, 200, "Wilson 1927", "divided by 2", "between 88.5 and 96.1 in 100 at 95",
		"does not forecast another tank")

	fr := ts.as(ts.class)
	fr.lang = "fr"
	fr.get(url).want(t, 200, "93 sur 100", "entre 86 et 97 sur 100")
	ts.as(ts.keeper).get(seasonPath(ts.one, "facts")).want(t, 200, `/survival"`)
}

// What was counted and is missing is said, and an account that does not hold is
// not counted on.
func TestSurvivalPageOfWhatIsNotKnown(t *testing.T) {
	ts, ctx := newTestServer(t), context.Background()
	ts.check(ts.one, testToday.AddDays(-9), 7, 14)
	_, err := ts.DB.CreateEvent(ctx, ts.keeper, logbook.Event{SeasonID: ts.one.ID, Kind: logbook.Counted,
		On: testToday.AddDays(-2), Count: units.Some(180)},
		testNow, store.Write{})
	ts.must(err)
	ts.as(ts.class).get(seasonPath(ts.one, "survival")).want(t, 200, "Nobody knows what became of 6",
		"Between 90 and 93 in 100")
	ts.check(ts.two, testToday.AddDays(-9), 7, 150)
	ts.check(ts.two, testToday.AddDays(-8), 7, 90)
	ts.as(ts.keeper).get(seasonPath(ts.two, "survival")).want(t, 200, "More fish died or left than came").lacks(t,
		"in every 100")
}
