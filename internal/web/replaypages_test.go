package web

import (
	"context"
	"testing"

	"reddside/internal/assess"
	"reddside/internal/rules"
)

func TestReplayPage(t *testing.T) {
	ts := newTestServer(t)
	for d := range 20 {
		dead := 0
		if d > 16 {
			dead = 3 + d - 16
		}
		ts.check(ts.one, testToday.AddDays(d-19), 7, dead)
	}
	boss := ts.as(ts.coordinator)
	boss.get("/replay").want(t, 200, "Replay past seasons", "All that have ended").lacks(t,
		"What the rules would have raised")
	boss.get("/replay?run=yes&seasons=closed").want(t, 200, "There is no such season")
	boss.get("/replay?run=yes&seasons=all").want(t, 200, "3 seasons, 66 days with fish", "More dead than usual",
		"false ones are not counted")
	one := "/replay?run=yes&seasons=" + string(ts.one.ID)
	boss.get(one).want(t, 200, "1 season, 22 days with fish", "Tank 1, Aldermoss School, 2025-26")
	boss.get(one+"&limit=dead_min&value=40").want(t, 200, "With the changed limit",
		"flag that would no longer be raised")
	boss.get(one+"&limit=dead_min&value=3").want(t, 200, "0 flags that would no longer be raised",
		"0 flags that would be raised as well")
	boss.get(one+"&limit=dead_min").want(t, 422, "Enter a number")
	boss.get(one+"&limit=dead_min&value=9000").want(t, 422)
	boss.get(one+"&limit=nothing&value=3").want(t, 422, "Choose a limit from the list")
	boss.get("/replay?run=yes&seasons=nowhere").want(t, 422, "Choose seasons from the list")
	// Nothing was stored.
	own, _, err := ts.DB.Thresholds(context.Background())
	if err != nil || len(own) != 0 {
		t.Errorf("thresholds %v %v", own, err)
	}
}

func TestParseLimit(t *testing.T) {
	o, err := assess.ParseLimit("temperature_watch_high/atlantic_salmon/fry=11.5")
	if err != nil || o.Limit != rules.TempWatchHigh || o.Species != "atlantic_salmon" || o.Stage != "fry" ||
		o.Value != 11.5 {
		t.Errorf("%+v %v", o, err)
	}
	for _, bad := range []string{"", "dead_min", "nothing=3", "dead_min/moon=3", "dead_min=three",
		"dead_min/fry/fry=3"} {
		if _, err := assess.ParseLimit(bad); err == nil {
			t.Errorf("%q was read", bad)
		}
	}
}
