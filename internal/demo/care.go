package demo

import (
	"fmt"
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

// weigh validates a sample and keeps it: fry weighed together in a cup of water in
// the afternoon, five of them measured, and all put back.
func (d *diary) weigh(y *day, w weighing) error {
	m := logbook.Sample{On: y.on, Count: w.fish, Total: units.Grams(units.Round(float64(w.fish)*w.each, 2)),
		Lost: units.Some(0),
		Note: d.say("Weighed in a cup of water.", "Pesés dans un gobelet d’eau.")}
	for i := range 5 {
		m.Lengths = append(m.Lengths, units.Millimetres(w.mm+0.5*float64(i-2)))
	}
	if err := logbook.Refuse(m.Validate(logbook.SampleContext{Season: d.s, Today: d.sc.today})); err != nil {
		return fmt.Errorf("sample: %w", err)
	}
	d.s.Samples = append(d.s.Samples, m)
	d.out.rows = append(d.out.rows, store.LogRow{Sample: &m, By: logbook.Actor{Role: logbook.Keeper},
		At: d.sc.at(y.on, 14*60+20)})
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
			if err := d.event(logbook.Event{Kind: logbook.WaterChange, On: y.on,
				Litres: units.Some(litres)}); err != nil {
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
	err := d.event(logbook.Event{Kind: logbook.Counted, On: counted,
		Count: units.Some(d.s.TotalsOn(counted).Alive - d.script.missing)})
	if err != nil {
		return err
	}
	err = d.event(logbook.Event{Kind: logbook.Released, On: last.on, Count: units.Some(d.s.TotalsOn(last.on).Alive),
		MeanG: units.Some[units.Grams](0.35), Place: d.s.Lot.Stock + ", lower pool", Permit: "Invented permit " +
			d.s.Label, Observer: d.say("Keeper and class", "Responsable et classe")})
	if err != nil {
		return err
	}
	d.out.release = d.record(last)
	d.s.ClosedOn = last.on
	return logbook.Refuse(d.s.ValidateClosing(d.sc.today))
}

// record is what the release was like: a short trip to a stream a little warmer
// than the tank, with both counts the same.
func (d *diary) record(last *day) *logbook.ReleaseRecord {
	n := units.Some(d.s.TotalsOn(last.on).Released)
	stream := units.Celsius(units.Round(last.t+2.4, 1))
	steps := 0
	for gap := float64(stream) - last.t - 0.5; gap > 1; gap *= 0.8 { // a fifth of the water at each step
		steps++
	}
	return &logbook.ReleaseRecord{WaterBody: d.s.Lot.Stock, Latitude: units.Some(45.0), Longitude: units.Some(-63.0),
		LifeStage: logbook.Fry,
		Purpose:   d.say("to stock the stream", "ensemencement"), MeanMM: units.Some[units.Millimetres](33),
		SizeMethod: d.say("20 fish in a cup of water on a scale", "20 poissons dans un gobelet d’eau sur une balance"),
		Transport:  d.say("one cooler in a car", "une glacière en voiture"), WaterSource: d.say("water of the tank",
			"eau du bac"),
		LeftAt: "13:40", ArrivedAt: "14:10", Container: units.Some[units.Litres](30), Oxygen: logbook.AirStone,
		Tank:   units.Some(units.Celsius(units.Round(last.t, 1))),
		Bucket: units.Some(units.Celsius(units.Round(last.t+0.5, 1))), Stream: units.Some(stream),
		TemperSteps: units.Some(steps), TemperMinutes: units.Some(10 * steps), Supplier: d.s.Lot.Supplier,
		Stock:  d.s.Lot.Stock,
		Health: logbook.HealthNotAsked, First: n, Second: n}
}

// say chooses the language of the school.
func (d *diary) say(english, french string) string {
	if d.sc.french() {
		return french
	}
	return english
}
