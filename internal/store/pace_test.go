package store

import (
	"fmt"
	"testing"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// One tablet corrects a row a few times a minute, not a hundred times a second;
// somebody else and the next minute are free.
func TestCorrectionsHaveAPace(t *testing.T) {
	p, ctx := plant(t), t.Context()
	class := logbook.Actor{Role: logbook.Class, SiteID: p.site.ID, Label: "Room 12 tablet"}
	c := logbook.Check{SeasonID: p.season.ID, On: day, Slot: logbook.Morning, Temperature: units.Some[units.Celsius](7),
		TemperatureEntered: "7", TemperatureUnit: units.Cel}
	saved, err := p.SaveCheck(ctx, class, c, noon, Write{})
	if err != nil {
		t.Fatal(err)
	}
	from, done := saved.Row.Revision, 0
	correct := func(who logbook.Actor, at time.Time) error {
		c.Note = fmt.Sprint(from)
		out, err := p.CorrectCheck(ctx, who, saved.Row.ID, from, c, "misread", at, nil)
		if err == nil {
			from = out.Row.Revision
		}
		return err
	}
	for i := range 2023 {
		if correct(class, noon.Add(time.Duration(i)*10*time.Millisecond)) == nil {
			done++
		}
	}
	if done != maxCorrections {
		t.Errorf("%d corrections in 20 s", done)
	}
	wantKey(t, correct(class, noon.Add(21*time.Second)), logbook.Conflict, "error.pace")
	if err := correct(coordinator, noon.Add(21*time.Second)); err != nil {
		t.Error(err)
	}
	if err := correct(class, noon.Add(2*time.Minute)); err != nil {
		t.Error(err)
	}
}
