package web

import (
	"context"
	"strings"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// Wrong input of what forecasts are made from: each has its own message, the form
// keeps what was typed, and nothing is stored.
func TestWrongInputIsAskedAbout(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	b := ts.as(ts.keeper)
	checks := len(ts.load(ts.one).Checks)
	// Wrong unit: 45 in a Celsius field is 7.2 C.
	b.post(seasonPath(ts.one, "checks"), plainCheck("temperature", "45", "note", "kept")).want(t, 422, `value="45"`,
		"kept", "7.2\u00a0°C")
	// Before the delivery, with the day of the delivery.
	early := plainCheck("on", "other", "on_other", "2026-01-10", "hatched", "half", "note", "kept")
	b.post(seasonPath(ts.one, "checks"), early).want(t, 422,
		"10 January 2026 is before the eggs arrived on 20 January 2026", "kept", `value="2026-01-10"`)
	// To come.
	later := plainCheck("on", "other", "on_other", "2026-03-10", "note", "kept")
	b.post(seasonPath(ts.one, "checks"), later).want(t, 422, "is still to come", "kept")
	if n := len(ts.load(ts.one).Checks); n != checks {
		t.Errorf("%d checks stored", n-checks)
	}
	// Dates in the wrong order: delivery before fertilisation on 1 November.
	d := fields("on", "2025-10-12", "count", "100", "method", "by_hand", "stage", "eyed_egg", "note", "kept")
	b.post(seasonPath(ts.one, "deliveries"), d).want(t, 422,
		"12 October 2025 is before the eggs were fertilised on 1 November 2025", "kept", `value="2025-10-12"`)
	// Release days the wrong way round.
	e := fields("label", "2025-26", "release_from", "2026-06-10", "release_by", "2026-06-01", "revision", "1")
	b.post(seasonPath(ts.one, "edit"), e).want(t, 422, "The last day must not be before the first day",
		`value="2026-06-10"`)
}

// An observation of a tank from which all were released is asked about once; of a
// season that has ended it is refused.
func TestObservationOfAnEmptyTank(t *testing.T) {
	ts, ctx := newTestServer(t), context.Background()
	ts.warmWeeks(ts.one)
	_, err := ts.DB.CreateEvent(ctx, ts.keeper, logbook.Event{SeasonID: ts.one.ID, Kind: logbook.Released,
		On:    civil.MustParse("2026-02-08"),
		Count: units.Some(200)}, testNow, store.Write{})
	ts.must(err)
	b := ts.as(ts.keeper)
	f := plainCheck("hatched", "half", "stage", "", "note", "kept", "temperature", "7")
	p := b.post(seasonPath(ts.one, "checks"), f).want(t, 422, "All fish were released on 8 February 2026", "kept",
		`name="was_confirmed"`)
	if !strings.Contains(p.Body, `value="hatched=half"`) {
		t.Error("the field cannot be confirmed")
	}
	f.Set("confirm", "hatched")
	b.post(seasonPath(ts.one, "checks"), f).want(t, 303)

	s := ts.load(ts.two)
	s.ClosedOn = civil.MustParse("2026-02-05")
	_, err = ts.DB.UpdateSeason(ctx, ts.coordinator, *s, testNow)
	ts.must(err)
	b.post(seasonPath(ts.two, "checks"), plainCheck("hatched", "half", "note", "kept")).want(t, 422,
		"after the season ended on 5 February 2026", "kept")
}

// Old rows that no form takes any more: the forecast leaves them out and asks.
func TestForecastAsksAboutOddRows(t *testing.T) {
	ts := newTestServer(t)
	ts.warmWeeks(ts.one)
	ts.look(ts.one, testDay, func(c *logbook.Check) { c.Temperature = units.Some[units.Celsius](45) })
	ts.look(ts.one, "2026-01-05", func(c *logbook.Check) { c.Hatched = logbook.HatchedHalf })
	ts.as(ts.keeper).get(seasonPath(ts.one, "forecast")).want(t, 200, "1 temperature was left out", "in the other unit",
		"Hatching is noted on 5 January 2026, before the eggs came on 20 January 2026",
		"Correct the check of 5 January 2026")
}

// The summary above a form names each field as the form does, in its order.
func TestWrongTankIsNamedAsInTheForm(t *testing.T) {
	ts := newTestServer(t)
	p := ts.as(ts.coordinator).post("/sites/"+string(ts.alder.ID)+"/tanks", fields("volume_l", "-5", "volume_unit", "L",
		"setpoint", "55")).want(t, 422,
		"Setpoint of the chiller, in °C: The temperature must be", "between 5 and 10,000 litres").lacks(t, "no value")
	last := 0
	for _, field := range []string{"name", "volume_l", "wall", "setpoint"} {
		i := strings.Index(p.Body, `href="#`+field+`"`)
		if i < last {
			t.Errorf("%s comes at %d in the summary, after %d", field, i, last)
		}
		last = i
	}
}
