package demo

import (
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// event validates an event and keeps it, entered by the keeper in the afternoon.
func (d *diary) event(e logbook.Event) error {
	if err := logbook.Refuse(e.Validate(d.s, d.sc.today)); err != nil {
		return err
	}
	d.s.Events = append(d.s.Events, e)
	d.out.rows = append(d.out.rows, store.LogRow{Event: &e, By: logbook.Actor{Role: logbook.Keeper}, At: d.sc.at(e.On, 15*60+20)})
	return nil
}

// care logs what is done to the tank after a look.
func (d *diary) care(y *day) error {
	if y.on.Weekday() == time.Saturday || y.on.Weekday() == time.Sunday || d.s.SchoolClosed(y.on) || y.ago == 0 {
		return nil
	}
	if !d.hatchOn.IsZero() && d.script.changeDays > 0 {
		from := d.hatchOn
		if !d.changedOn.IsZero() {
			from = d.changedOn
		}
		if y.on.Sub(from) >= d.script.changeDays-3 {
			d.changedOn = y.on
			litres := units.Litres(units.Round(0.2*float64(d.s.Tank.Volume), 0))
			if err := d.event(logbook.Event{Kind: logbook.WaterChange, On: y.on, Litres: units.Some(litres)}); err != nil {
				return err
			}
		}
	}
	if d.s.Tank.HasBasket && !d.basket && y.x > 1.5 {
		d.basket = true
		if err := d.event(logbook.Event{Kind: logbook.BasketOpened, On: y.on}); err != nil {
			return err
		}
	}
	if !d.swimOn.IsZero() && !d.fed {
		d.fed = true
		return d.event(logbook.Event{Kind: logbook.FirstFeed, On: y.on})
	}
	return nil
}

// release ends a season of last year: the living are counted into buckets and
// released, the season is closed on the same day.
func (d *diary) release(last *day) error {
	t := d.s.TotalsOn(last.on)
	found := t.Alive - d.script.missing
	for _, e := range []logbook.Event{
		{Kind: logbook.Counted, Count: units.Some(found)},
		{Kind: logbook.Released, Count: units.Some(found), MeanG: units.Some[units.Grams](0.35), Place: d.s.Lot.Stock + ", lower pool",
			Permit: "Invented permit " + d.s.Label},
	} {
		e.On = last.on
		if err := d.event(e); err != nil {
			return err
		}
	}
	d.s.ClosedOn = last.on
	d.out.closedAt = d.sc.at(last.on, 15*60+40)
	return logbook.Refuse(d.s.ValidateClosing(d.sc.today))
}
