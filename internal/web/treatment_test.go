package web

import (
	"strings"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// A treatment is one record from the form to the report: what, what for, how
// strong, how long, by whose leave, and when fish may be released.
func TestTreatmentFromFormToReport(t *testing.T) {
	ts := newTestServer(t)
	b := ts.as(ts.keeper)
	sent := fields("kind", "treatment", "on", testDay, "product", "sea salt", "purpose", "fuzz on eggs", "dose", "2.5",
		"dose_unit", "g_l",
		"minutes", "20", "allowed_by", "hatchery", "days_before_release", "21")
	page := b.post(seasonPath(ts.one, "events"), sent).want(t, 303).Location
	b.get(page).want(t, 200, "sea salt", "fuzz on eggs", "2.5", "g/L", "20", "hatchery", "Days before release")
	want := logbook.Treated{Product: "sea salt", Purpose: "fuzz on eggs", Dose: units.Some(2.5),
		DoseUnit: logbook.DoseGL,
		Minutes:  units.Some(20.0), AllowedBy: "hatchery", DaysBeforeRelease: units.Some(21)}
	if got := ts.load(ts.one).Events[0].Treated; got != want {
		t.Errorf("stored %+v, want %+v", got, want)
	}

	// Corrected, with the old dose kept in the history.
	form := b.get(page+"/correct").want(t, 200, `value="2.5"`, `value="21"`).hidden()
	sent.Set("dose", "3")
	sent.Set("revision", form.Get("revision"))
	sent.Set("reason", "misread")
	b.post(page+"/correct", sent).want(t, 303)
	if n := ts.sqlCount(`SELECT count(*) FROM history WHERE table_name = 'event' AND row_json ->> 'dose' = 2.5
		AND row_json ->> 'product' = 'sea salt' AND row_json ->> 'days_before_release' = 21`); n != 1 {
		t.Errorf("%d rows of history hold the old dose, want 1", n)
	}

	free := civil.MustParse(testDay).AddDays(21)
	for _, path := range []string{"report", "report?format=csv"} {
		b.get(seasonPath(ts.one, path)).want(t, 200, "sea salt", "fuzz on eggs", "hatchery")
	}
	if csv := b.get(seasonPath(ts.one, "report?format=csv")).Body; !strings.Contains(csv, free.String()) {
		t.Errorf("the report does not say that release is free on %s", free)
	}
	// Fish go out before the days are over only when it says who allowed it.
	early := fields("kind", "release", "on", testDay, "count", "5", "place", "Invented Brook")
	b.post(seasonPath(ts.one, "events"), early).want(t, 422, "sea salt are over on")
}

func TestReleaseWaitsForTheTreatment(t *testing.T) {
	on := civil.MustParse("2026-02-01")
	s := &logbook.Season{Events: []logbook.Event{{Kind: logbook.Treatment, On: on,
		Treated: logbook.Treated{Product: "sea salt", DaysBeforeRelease: units.Some(10)}}}}
	early := func(d civil.Date) bool {
		t := s.TooEarly(d)
		return t != nil && t.FreeOn() == on.AddDays(10)
	}
	if !early(on) || !early(on.AddDays(9)) || early(on.AddDays(10)) || early(on.AddDays(-1)) {
		t.Error("the days after a treatment are not kept")
	}
}
