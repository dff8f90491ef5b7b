package web

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/limits"
)

// A reader of Fahrenheit types Fahrenheit: 45 °F is 65/9 °C, and a step of 1.8 °F
// is one of 1 °C (by definition of the scale).
func TestThresholdFahrenheit(t *testing.T) {
	ts := newTestServer(t)
	ctx, boss := context.Background(), ts.as(ts.coordinator)
	g, err := ts.DB.Programme(ctx)
	ts.must(err)
	g.TemperatureUnit = units.DegF
	_, err = ts.DB.UpdateProgramme(ctx, ts.coordinator, g, testNow)
	ts.must(err)
	const warm = "/rules/thresholds/temperature_watch_high?species=atlantic_salmon&stage=eyed_egg"
	const jump = "/rules/thresholds/temperature_jump"
	boss.get(warm).want(t, 200, "New value, in °F", "From 30.2 to 86").lacks(t, "in °C", "\u00a0°C")
	boss.get(jump).want(t, 200, "New value, in °F", "From 0.18 to 18").lacks(t, "in °C", "\u00a0°C")
	boss.post(warm, fields("value", "99", "reason", "x", "do", "save", "revision", "0")).want(t, 422,
		"99 does not fit here. Use a number from 30.2 to 86")
	boss.post(warm, fields("value", "45", "reason", "x", "do", "save", "revision", "0")).want(t, 303)
	boss.post(warm, fields("value", "7.5 °C", "reason", "x", "do", "preview", "revision", "1")).want(t, 200)
	boss.post(jump, fields("value", "1.8", "reason", "x", "do", "save", "revision", "0")).want(t, 303)
	want := map[string]float64{"temperature_watch_high": 65.0 / 9, "temperature_jump": 1}
	own, _, err := ts.DB.Thresholds(ctx)
	ts.must(err)
	if len(own) != 2 {
		t.Fatalf("%+v", own)
	}
	for _, x := range own {
		if math.Abs(x.Value.V-want[x.Key]) > 1e-9 {
			t.Errorf("%s is stored as %v, want %v", x.Key, x.Value.V, want[x.Key])
		}
	}
	const replay = "/replay?run=yes&seasons=all&limit=temperature_watch_high&value="
	boss.get("/replay").want(t, 200, "temperatures in °F")
	boss.get(replay+"31").want(t, 422, "would cross") // 31 °F is below every lower limit
	boss.get(replay+"50&species=atlantic_salmon&stage=eyed_egg").want(t, 200, "With the changed limit")
	boss.get(replay+"99").want(t, 422, "Use a number from 30.2 to 86")
}

func TestThresholdScopePickers(t *testing.T) {
	ts := newTestServer(t)
	boss := ts.as(ts.coordinator)
	boss.get("/rules/thresholds/temperature_watch_high").want(t, 200, `name="species"`, `name="stage"`)
	boss.get("/rules/thresholds/dead_min").want(t, 200, "New value").lacks(t, `name="species"`, `name="stage"`)
}

// Two coordinators have the same pages open. Each half fits the limits that both
// saw: act below 6 of oxygen with watch below 6.5, and watch below 5.5 with act
// below 5. Together they would cross.
func TestThresholdHalvesOfAPair(t *testing.T) {
	ts := newTestServer(t)
	ctx := context.Background()
	_, check, err := ts.Assess.OwnThresholds(ctx)
	ts.must(err)
	set := func(l rules.Limit, v float64) error {
		_, err := ts.DB.SetThreshold(ctx, ts.coordinator, store.Threshold{Key: l.String(), Value: units.Some(v)}, "why",
			testNow, check)
		return err
	}
	ts.must(set(rules.OxygenAct, 6))
	if err := set(rules.OxygenWatch, 5.5); logbook.KindOf(err) != logbook.Invalid {
		t.Errorf("the second half: %v", err)
	}
	own, _, err := ts.DB.Thresholds(ctx)
	if err != nil || len(own) != 1 || own[0].Key != "oxygen_act" {
		t.Errorf("stored %+v, %v", own, err)
	}
	ts.must(set(rules.OxygenWatch, 6.2))
}

// A limit that fitted nothing before stands in nobody's way, and can be taken
// away.
func TestThresholdUnfittingBefore(t *testing.T) {
	ts := newTestServer(t)
	ctx, boss := context.Background(), ts.as(ts.coordinator)
	for _, l := range []rules.Limit{rules.DeadMin, rules.LateDays} { // neither takes a stage
		_, err := ts.DB.SetThreshold(ctx, ts.coordinator, store.Threshold{Key: l.String(), Stage: logbook.Fry,
			Value: units.Some(4.0)}, "old", testNow, nil)
		ts.must(err)
	}
	boss.post("/rules/thresholds/dead_min", fields("value", "4", "reason", "x", "do", "save", "revision", "0")).want(t,
		303)
	boss.post("/rules/thresholds/dead_min?stage=fry", fields("reason", "x", "do", "stock", "revision", "1")).want(t,
		303)
	boss.post("/rules/thresholds/late_days?stage=fry", fields("value", "5", "reason", "x", "do", "save", "revision",
		"1")).want(t, 422, "holds for every species")
}

// At two in the morning of 11 February in UTC it is still the 10th in Halifax,
// where the first school is.
func TestThresholdDaysOnTheWall(t *testing.T) {
	ts := newTestServer(t)
	boss := ts.as(ts.coordinator)
	ts.at(time.Date(2026, 2, 11, 2, 0, 0, 0, time.UTC))
	p := ts.Cat.Printer("en", units.Cel)
	boss.post("/rules/thresholds/dead_min", fields("value", "4", "reason", "x", "do", "save", "revision", "0")).want(t,
		303)
	boss.get("/rules/thresholds/dead_min").want(t, 200, p.Date(civil.MustParse("2026-02-10"))).lacks(t,
		p.Date(civil.MustParse("2026-02-11")))
	// Brought on 20 January: 22 days with fish, not 23, in each of three tanks.
	boss.get("/replay?run=yes&seasons=all").want(t, 200, "3 seasons, 66 days with fish")
}

func TestThresholdLookBackChoice(t *testing.T) {
	var heads []store.SeasonHead
	for i := range 100 {
		heads = append(heads, store.SeasonHead{ID: logbook.ID(fmt.Sprint(i)), Label: fmt.Sprint(2000 + i),
			Closed: i != 3})
	}
	ids := limits.LookBackIDs(heads)
	if len(ids) != 60 || ids[0] != "3" || ids[1] != "99" || ids[59] != "41" {
		t.Errorf("%v", ids)
	}
	if heads[0].ID != "0" {
		t.Error("the list given was sorted")
	}
}
