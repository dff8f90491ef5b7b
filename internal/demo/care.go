package demo

import (
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
)

// event validates an event and keeps it. The keeper does one thing after the
// other in the afternoon and enters each at once.
func (d *diary) event(e logbook.Event) error {
	minutes := 15*60 + 10
	for i := range d.s.Events {
		if d.s.Events[i].On == e.On {
			minutes += 10
		}
	}
	at := d.sc.at(e.On, minutes)
	e.Time = at.In(d.sc.loc).Format("15:04")
	if err := logbook.Refuse(e.Validate(d.s, d.sc.today)); err != nil {
		return err
	}
	d.s.Events = append(d.s.Events, e)
	d.out.rows = append(d.out.rows, store.LogRow{Event: &e, By: logbook.Actor{Role: logbook.Keeper}, At: at})
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

// release ends a season of last year: the living are counted on the workday
// before, released, and the season is closed on the same day.
func (d *diary) release(last *day) error {
	counted := workday(last.on.AddDays(-1))
	err := d.event(logbook.Event{Kind: logbook.Counted, On: counted, Count: units.Some(d.s.TotalsOn(counted).Alive - d.script.missing)})
	if err != nil {
		return err
	}
	err = d.event(logbook.Event{Kind: logbook.Released, On: last.on, Count: units.Some(d.s.TotalsOn(last.on).Alive),
		MeanG: units.Some[units.Grams](0.35), Place: d.s.Lot.Stock + ", lower pool", Permit: "Invented permit " + d.s.Label})
	if err != nil {
		return err
	}
	d.s.ClosedOn = last.on
	return logbook.Refuse(d.s.ValidateClosing(d.sc.today))
}
