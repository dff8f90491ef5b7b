package web

import (
	"context"
	"fmt"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/limits"
)

// A limit is changed with a reason after a look at what it would have raised, and
// goes back to the stock value; a number that does not fit is refused in words.
func TestThresholdPages(t *testing.T) {
	ts := newTestServer(t)
	ctx, boss, keeper := context.Background(), ts.as(ts.coordinator), ts.as(ts.keeper)
	for i := range 8 {
		c := logbook.Check{SeasonID: ts.one.ID, On: civil.MustParse("2026-02-01").AddDays(i), Slot: logbook.Morning,
			Temperature: units.Some(units.Celsius(7.4)), TemperatureUnit: units.Cel, TemperatureEntered: "7.4",
			Stage: logbook.EyedEgg}
		_, err := ts.DB.SaveCheck(ctx, ts.keeper, c, testNow, store.Write{})
		ts.must(err)
	}
	const path = "/rules/thresholds/temperature_watch_high?species=atlantic_salmon&stage=eyed_egg"
	boss.get("/rules/thresholds").want(t, 200, "Too warm: watch above", "Value as supplied", "Set here")
	boss.get(path).want(t, 200, "eyed egg", "Value as supplied", "New value, in °C")
	boss.get("/rules/thresholds/temperature_watch_high?stage=eyed_egg").want(t, 200, "A value of its own has",
		"Atlantic salmon, eyed egg")
	boss.get("/rules/thresholds/no_such_limit").want(t, 404)
	boss.get("/rules/thresholds/temperature_watch_high?stage=tadpole").want(t, 404)

	for _, c := range []struct{ value, reason, do, want string }{
		{"", "why", "save", "Enter a number"},
		{"seven", "why", "save", "number, like 7.5"},
		{"99", "why", "save", "does not fit here"},
		{"0", "why", "save", "would cross"},
		{"7", " ", "save", "Why"},
	} {
		boss.post(path, fields("value", c.value, "reason", c.reason, "do", c.do)).want(t, 422, c.want)
	}
	// Eight checks at 7.4: a limit of 7.2 would have said so.
	p := boss.post(path, fields("value", "7.2", "reason", "", "do", "preview", "revision", "0")).want(t, 200,
		"The last seasons with the new value", "only with the new value", "Water too warm", "Aldermoss School",
		`value="7.2"`)
	if own, _, err := ts.DB.Thresholds(ctx); err != nil || len(own) != 0 {
		t.Fatalf("a look back changed %+v, %v", own, err)
	}
	p.lacks(t, "only with the value in use")
	boss.post(path, fields("value", "7.2", "reason", "cold stream stock", "do", "save", "revision", "0")).want(t, 303)
	boss.get(path).want(t, 200, "7.2", "cold stream stock", "Values it has had", "Back to the stock value")
	boss.get("/rules/thresholds").want(t, 200, "cold stream stock")
	profile, err := ts.Assess.Profile(ctx)
	ts.must(err)
	if v, _ := profile.Value(0, logbook.AtlanticSalmon, logbook.EyedEgg); v == 7.2 {
		t.Error("another limit changed")
	}
	// Somebody else changed it meanwhile.
	stale := boss.post(path, fields("value", "7.3", "reason", "other words", "do", "save", "revision", "0")).want(t,
		409, "Somebody changed this in the meantime", `value="7.3"`, "other words")
	if got := stale.hidden().Get("revision"); got == "0" {
		t.Error("the form that comes back cannot be saved")
	}
	boss.post(path, fields("reason", "back to the papers", "do", "stock", "revision", "1")).want(t, 303)
	boss.get(path).want(t, 200, "back to the papers", "cold stream stock", "back to the stock value")
	keeper.get(path).want(t, 403)
	keeper.post(path, fields("value", "7.2", "reason", "x", "do", "save")).want(t, 403)
}

// Own rates need closed seasons; then they are what the log says, and adopted
// with a reason. The log below has 5 dead in 40 daily counts of each of 6 tanks.
func TestRecalibrationPage(t *testing.T) {
	ts := newTestServer(t)
	ctx, boss := context.Background(), ts.as(ts.coordinator)
	boss.get("/rules/recalibration").want(t, 200, "At least 200 counts")
	boss.post("/rules/recalibration", fields("reason", "x")).want(t, 422)
	start := civil.MustParse("2025-01-10")
	for k := range 6 {
		tank, err := ts.DB.CreateTank(ctx, ts.coordinator,
			logbook.Tank{SiteID: ts.alder.ID, Name: fmt.Sprint("Old ", k), Volume: 200, Wall: logbook.Insulated},
			testNow, store.IdempotencyKey{})
		ts.must(err)
		s, err := ts.DB.CreateSeason(ctx, ts.coordinator, logbook.Season{Label: "2024-25", Tank: tank, Lot: ts.lot,
			ClosedOn: start.AddDays(45)}, testNow, store.IdempotencyKey{})
		ts.must(err)
		_, err = ts.DB.CreateDelivery(ctx, ts.coordinator, logbook.Delivery{SeasonID: s.ID, On: start, Count: 200,
			Method: logbook.ByHand, Stage: logbook.EyedEgg}, testNow, store.Write{})
		ts.must(err)
		for d := 1; d <= 40; d++ {
			dead := 0
			if d%8 == 0 {
				dead = 1
			}
			_, err = ts.DB.SaveCheck(ctx, ts.keeper, logbook.Check{SeasonID: s.ID, On: start.AddDays(d),
				Slot:     logbook.Morning,
				DeadEggs: units.Some(dead), Stage: logbook.EyedEgg}, testNow, store.Write{})
			ts.must(err)
		}
	}
	rec, err := (&limits.Service{Kernel: ts.Kernel}).Recalibrate(ctx)
	ts.must(err)
	// 240 counts. Eggs: 36 days a tank after the four of arrival, 5 dead among
	// about 197.5: 30 / (6 * 36 * 197.5) = 0.000703 a day.
	if rec.Seasons != 6 || rec.Checks != 240 || rec.Confirmed != 0 || len(rec.Rates) != 7 {
		t.Fatalf("%+v", rec)
	}
	if egg := rec.Rates[1].Own; egg < 0.00068 || egg > 0.00073 {
		t.Errorf("egg rate %v, want about 0.0007", egg)
	}
	boss.get("/rules/recalibration").want(t, 200, "6 closed seasons", "0.70 in 1,000 a day")
	boss.post("/rules/recalibration", fields("reason", "")).want(t, 422, "Why")
	boss.post("/rules/recalibration", fields("reason", "two seasons of our own")).want(t, 303)
	profile, err := ts.Assess.Profile(ctx)
	ts.must(err)
	if cfg, own := profile.DeadConfig(); !own || cfg.Rates[1] != rec.Rates[1].Own {
		t.Errorf("adopted %+v, own %v", cfg.Rates, own)
	}
}
