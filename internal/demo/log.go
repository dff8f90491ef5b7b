package demo

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/water"
)

// diary writes the log of one season.
type diary struct {
	sc     *school
	script *script
	lot    *lot
	out    *season
	s      *logbook.Season
	place  int // of the tank among all, for the times of day

	pending   int // dead not yet picked
	wasHatch  bool
	hatchOn   civil.Date
	changedOn civil.Date
	basket    bool
	swimOn    civil.Date
	fed       bool
}

// live lets the season happen and writes down what people would have logged.
func live(sc *school, script *script, l *lot, water []float64, stream uint64) (*season, error) {
	end, label := sc.today, l.delivered
	if l.endAgo > 0 {
		end = l.end
	}
	out := &season{script: script, lot: l, season: logbook.Season{Label: seasonLabel(label), Site: sc.site,
		Tank: script.tank, Lot: l.lot,
		ClosedDays: sc.closed}}
	all := days(l, script, end, water, stream)
	d := &diary{sc: sc, script: script, lot: l, out: out, s: &out.season, place: int(stream)}
	if err := d.delivery(all[0].stage); err != nil {
		return nil, err
	}
	if to := units.Celsius(script.set[0].to); to != script.tank.Setpoint.V {
		if err := d.event(logbook.Event{Kind: logbook.SetpointChange, On: l.delivered,
			Setpoint: units.Some(to)}); err != nil {
			return nil, err
		}
	}
	last := &all[len(all)-1]
	out.season.ReleaseFrom, out.season.ReleaseBy = releaseWindow(l, last)
	if l.endAgo > 0 {
		out.season.ReleaseFrom, out.season.ReleaseBy = end.AddDays(-6), end.AddDays(15)
	}
	for i := 1; i < len(all); i++ {
		if err := d.day(&all[i]); err != nil {
			return nil, fmt.Errorf("%s: %w", all[i].on, err)
		}
	}
	if l.endAgo > 0 {
		if err := d.release(last); err != nil {
			return nil, err
		}
	}
	if script.logger {
		if err := d.logger(all); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// seasonLabel names a season by its school year, which changes on 1 July.
func seasonLabel(delivered civil.Date) string {
	y, m, _ := delivered.YMD()
	if m < 7 {
		y--
	}
	return fmt.Sprintf("%d-%02d", y, (y+1)%100)
}

func (d *diary) delivery(stage logbook.Stage) error {
	l := d.lot
	del := logbook.Delivery{On: l.delivered, Count: d.script.count, Method: logbook.ByVolume, Stage: stage,
		ThermalUnits:    units.Some(units.ThermalUnits(units.Round(float64(l.units), 1))),
		MeanTemperature: units.Some(units.Celsius(l.hatchery)), PackTemperature: units.Some[units.Celsius](4)}
	if err := logbook.Refuse(del.Validate(l.lot, d.sc.today)); err != nil {
		return fmt.Errorf("delivery: %w", err)
	}
	d.s.Deliveries = []logbook.Delivery{del}
	d.out.startedAt = d.sc.at(l.delivered, 13*60+10)
	return nil
}

// day logs one day.
func (d *diary) day(y *day) error {
	d.pending += y.died
	for _, c := range d.script.set[1:] {
		if c.ago == y.ago {
			if err := d.event(logbook.Event{Kind: logbook.SetpointChange, On: y.on,
				Setpoint: units.Some(units.Celsius(c.to))}); err != nil {
				return err
			}
		}
	}
	for _, e := range d.script.done {
		if e.ago == y.ago {
			e.event.On = y.on
			if err := d.event(e.event); err != nil {
				return err
			}
		}
	}
	for _, w := range d.script.weighed {
		if w.ago == y.ago {
			if err := d.weigh(y, w); err != nil {
				return err
			}
		}
	}
	if !d.looked(y) {
		return nil
	}
	if err := d.check(y); err != nil {
		return err
	}
	return d.care(y)
}

// looked says whether somebody looks at the tank on a day: on school days but
// for a few forgotten ones, every other day of a holiday, now and then on a
// Saturday, never on the last weekend.
func (d *diary) looked(y *day) bool {
	forgotten, weekend := y.chance(0.04), y.chance(0.2)
	switch {
	case y.ago == 0:
		return !d.script.noToday
	case y.on.Weekday() == time.Sunday:
		return false
	case d.s.SchoolClosed(y.on):
		return y.on.Weekday()%2 == 1
	case y.on.Weekday() == time.Saturday:
		return weekend && y.ago > 8
	}
	return !forgotten || y.ago < 8
}

// moment is when the check of a day is made: before the first lessons.
func (d *diary) moment(y *day) time.Time {
	minutes := 8*60 + 15 + d.place*5%45 + y.rng.IntN(25)
	if d.s.SchoolClosed(y.on) || y.on.Weekday() == time.Saturday {
		minutes += 120
	}
	t := d.sc.at(y.on, minutes)
	// Before school opens, today's look was a few minutes ago.
	if start := y.on.Start(d.sc.loc); t.Equal(d.sc.now) && t.Sub(start) > 12*time.Minute {
		t = t.Add(-12 * time.Minute)
	}
	return t
}

// check writes the check of a day.
func (d *diary) check(y *day) error {
	at := d.moment(y)
	c := logbook.Check{On: y.on, Slot: logbook.Morning, Time: at.In(d.sc.loc).Format("15:04")}
	d.temperature(&c, y.t+0.1*y.rng.NormFloat64())
	d.equipment(&c, y)
	d.dead(&c, y)
	d.seen(&c, y)
	if y.on.Weekday() == time.Wednesday {
		d.waterTests(&c, y)
	}
	c.Note, c.Observer = d.words(y)
	if d.fed && y.ago > 0 {
		c.Fed = units.Some(units.Grams(units.Round(0.3+0.05*float64(y.on.Sub(d.swimOn)/3), 1)))
	}
	if d.script.touch != nil {
		d.script.touch(y, &c)
	}
	role := logbook.Class
	if d.s.SchoolClosed(y.on) || y.on.Weekday() == time.Saturday {
		role, c.Observer = logbook.Keeper, ""
	}
	received := at.Add(time.Duration(2+y.rng.IntN(9)) * time.Minute)
	if late := d.script.lateBy[y.ago]; late > 0 {
		received, role = received.AddDate(0, 0, late), logbook.Keeper
	}
	if received.After(d.sc.now) {
		received = d.sc.now
	}
	return d.add(c, role, received, y)
}

// add validates a check and keeps it; a person confirms what surprises.
func (d *diary) add(c logbook.Check, role logbook.Role, received time.Time, y *day) error {
	if d.script.correct > 0 && len(d.out.corrections) == 0 && y.ago <= d.script.correct {
		return d.mistype(c, role, received)
	}
	if err := d.confirm(&c); err != nil {
		return err
	}
	d.out.rows = append(d.out.rows, store.LogRow{Check: &c, By: logbook.Actor{Role: role}, At: received})
	c.ReceivedAt, c.By, c.Revision = received, role, 1
	d.s.Checks = append(d.s.Checks, c)
	return nil
}

// confirm fills in the fields whose surprising value was confirmed.
func (d *diary) confirm(c *logbook.Check) error {
	ctx := logbook.CheckContext{Season: d.s, Today: d.sc.today}
	for _, p := range c.Validate(ctx) {
		if p.Soft {
			c.Confirmed = append(c.Confirmed, p.Field)
		}
	}
	return logbook.Refuse(c.Validate(ctx))
}

// mistype stores a check with a wrong temperature and its correction, made the
// same afternoon.
func (d *diary) mistype(c logbook.Check, role logbook.Role, received time.Time) error {
	right := c
	right.ID = logbook.NewID()
	wrong := right
	d.temperature(&wrong, float64(c.Temperature.V)+1)
	if err := d.confirm(&wrong); err != nil {
		return err
	}
	if err := d.confirm(&right); err != nil {
		return err
	}
	at := received.Add(5 * time.Hour)
	d.out.rows = append(d.out.rows, store.LogRow{Check: &wrong, By: logbook.Actor{Role: role}, At: received})
	d.out.corrections = append(d.out.corrections, correction{right, "The wrong line of the thermometer was read.", at})
	right.ReceivedAt, right.By, right.Revision, right.ChangedAt = received, role, 2, at
	d.s.Checks = append(d.s.Checks, right)
	return nil
}

// temperature writes what the thermometer of the school shows: to 0.1 Celsius
// or half a Fahrenheit degree, as a person types it.
func (d *diary) temperature(c *logbook.Check, t float64) {
	unit := d.sc.site.TemperatureUnit
	text := strconv.FormatFloat(units.Round(t, 1), 'f', 1, 64)
	switch {
	case unit == units.DegF:
		f := units.Round(2*unit.FromCelsius(units.Celsius(t)), 0) / 2
		text = strconv.FormatFloat(f, 'f', 1, 64) + " F"
	case d.sc.french():
		text = strings.Replace(text, ".", ",", 1)
	}
	v, u, _ := logbook.ParseTemperature(text, unit)
	c.Temperature, c.TemperatureEntered, c.TemperatureUnit = units.Some(u.ToCelsius(v)), text, u
}

func (d *diary) equipment(c *logbook.Check, y *day) {
	c.Chiller, c.Filter, c.AirPump = logbook.Running, logbook.Running, logbook.Running
	if y.chance(0.06) {
		c.Filter = logbook.NotChecked
	}
	if !d.s.Tank.HasFilter {
		c.Filter = logbook.NotFitted
	}
}

// dead writes the dead picked, by stage. A class counts at every check; what
// died over night in a quiet tank today is found tomorrow.
func (d *diary) dead(c *logbook.Check, y *day) {
	n := d.pending
	if y.ago == 0 && d.lot.endAgo == 0 && d.script.outbreak == nil {
		n = 0
	}
	d.pending -= n
	switch {
	case y.stage == logbook.Fry:
		c.DeadFry = units.Some(n)
	case y.hatched < 0.02:
		c.DeadEggs = units.Some(n)
	case y.hatched > 0.98:
		c.DeadAlevins = units.Some(n)
	default:
		eggs := int(float64(n)*(1-y.hatched) + 0.5)
		c.DeadEggs, c.DeadAlevins = units.Some(eggs), units.Some(n-eggs)
	}
}

// seen writes stage, hatch, water and fungus.
func (d *diary) seen(c *logbook.Check, y *day) {
	if y.chance(0.85) || y.ago == 0 {
		c.Stage = y.stage
	}
	if y.x > 0.93 && !d.wasHatch {
		c.Hatched = y.hatchedWord()
		d.wasHatch = c.Hatched == logbook.HatchedAll
	}
	if y.chance(0.8) {
		c.Water = logbook.WaterClear
	}
	if y.hatched < 0.5 && y.chance(0.3) {
		c.Fungus = logbook.NotSeen
	}
	if y.hatched >= 0.5 && d.hatchOn.IsZero() {
		d.hatchOn = y.on
	}
	if y.stage == logbook.Fry && d.swimOn.IsZero() {
		d.swimOn = y.on
	}
}

// waterTests are those of the weekly test strip and the oxygen meter.
func (d *diary) waterTests(c *logbook.Check, y *day) {
	ph := units.Round(7.2+0.1*float64(y.rng.IntN(4)), 1)
	tests(c, ph, 0.05*units.MgPerL(y.rng.IntN(3)), 0.01*units.MgPerL(y.rng.IntN(3)), 2.5)
	p, err := water.PressureAtAltitude(d.sc.site.Altitude.V)
	if err != nil || !y.chance(0.4) {
		return
	}
	if full, err := water.Saturation(units.Celsius(y.t), p); err == nil {
		c.Oxygen = units.Some(units.MgPerL(units.Round(0.94*float64(full), 1)))
	}
}
