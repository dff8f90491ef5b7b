package store

import (
	"fmt"
	"testing"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// One tablet corrects a few times a minute, whatever row and whatever it is called;
// another tablet of the class, staff and the next minute are free. Staff is held to
// a pace that nobody types.
func TestCorrectionsHaveAPace(t *testing.T) {
	p, ctx := plant(t), t.Context()
	tablet := logbook.Actor{AccountID: logbook.NewID(), Role: logbook.Class, SiteID: p.site.ID, Label: "Room 12 tablet"}
	other := tablet
	other.AccountID = logbook.NewID()
	type row struct {
		logbook.Check
		from int64
	}
	rows := make([]row, 3)
	for i := range rows {
		c := logbook.Check{SeasonID: p.season.ID, On: day, Slot: logbook.Slots()[i],
			Temperature:        units.Some[units.Celsius](7),
			TemperatureEntered: "7", TemperatureUnit: units.Cel}
		saved, err := p.SaveCheck(ctx, tablet, c, noon, Write{})
		if err != nil {
			t.Fatal(err)
		}
		rows[i] = row{saved.Row, 1}
	}
	n := 0
	correct := func(who logbook.Actor, at time.Time) error {
		x := &rows[n%len(rows)]
		n++
		x.Note = fmt.Sprint(n)
		out, err := p.CorrectCheck(ctx, who, x.ID, x.from, x.Check, "misread", at, nil)
		if err == nil {
			x.from = out.Row.Revision
		}
		return err
	}
	flood := func(who logbook.Actor) (done int) {
		for i := range 2023 {
			w := who
			w.Label = fmt.Sprint("renamed ", i)
			if correct(w, noon.Add(time.Duration(i)*10*time.Millisecond)) == nil {
				done++
			}
		}
		return done
	}
	if done := flood(tablet); done != maxTabletCorrections {
		t.Errorf("%d corrections in 20 s by a tablet", done)
	}
	wantKey(t, correct(tablet, noon.Add(21*time.Second)), logbook.Conflict, "error.pace")
	if err := correct(other, noon.Add(21*time.Second)); err != nil {
		t.Error(err)
	}
	if err := correct(tablet, noon.Add(2*time.Minute)); err != nil {
		t.Error(err)
	}
	staff := coordinator
	staff.AccountID = logbook.NewID()
	if done := flood(staff); done != 60 {
		t.Errorf("%d corrections in 20 s by staff", done)
	}
}
