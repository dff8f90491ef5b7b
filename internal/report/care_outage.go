package report

import (
	"math"
	"time"

	"reddside/internal/biology"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/water"
)

// Outage is a chiller or power that failed. Tank is the water at the start, or
// now when it was measured since.
type Outage struct {
	Since, Now time.Time
	Tank       units.Celsius
	Measured   bool // Tank was measured now
	Room       units.Celsius
	Volume     units.Litres
	HeatW      float64 // of pumps that still run
	Heat       TankHeat
}

func (o *Outage) warming(ua float64) water.Warming {
	return water.Warming{Volume: o.Volume, UA: ua, Tank: o.Tank, Room: o.Room, HeatW: o.HeatW}
}

// gone is the hours between the moment of Tank and now.
func (o *Outage) gone() float64 {
	if o.Measured {
		return 0
	}
	return o.Now.Sub(o.Since).Hours()
}

// Present is the temperature now: as measured, or as computed from the start.
func (o *Outage) Present() (units.Celsius, error) { return o.warming(o.Heat.UA).After(o.gone()) }

// Reach is when a limit is reached, in hours from now: 0 when it is passed
// already, absent when it never is. Hours is by the heat flow as it is believed,
// First the soonest and Last the latest by the three heat flows of its doubt;
// First is absent when none of them gets there, Last when one of them does not.
type Reach struct {
	Limit              units.Celsius
	Hours, First, Last units.Optional[float64]
}

// Before reports whether the limit is reached before another one; what may be
// reached comes before what never is.
func (r Reach) Before(other Reach) bool {
	if r.Hours.OK || other.Hours.OK {
		return r.Hours.OK && (!other.Hours.OK || r.Hours.V < other.Hours.V)
	}
	return r.First.OK && (!other.First.OK || r.First.V < other.First.V)
}

// Ceiling returns when the tank is as warm as a limit or warmer. The limit is
// one of a liquid tank, else the error is a units.RangeError.
func (o *Outage) Ceiling(limit units.Celsius) (Reach, error) { return o.reach(limit, 1) }

// Floor returns when the tank is as cold as a limit or colder; see Ceiling.
func (o *Outage) Floor(limit units.Celsius) (Reach, error) { return o.reach(limit, -1) }

// reach does not assume which heat flow is the soonest: with pumps that heat in
// a cool room, a tank that leaks less becomes warmer.
func (o *Outage) reach(limit units.Celsius, side float64) (Reach, error) {
	r := Reach{Limit: limit}
	all := true
	for i, ua := range [...]float64{o.Heat.UA, o.Heat.Low, o.Heat.High} {
		h, err := o.hoursTo(limit, side, ua)
		if err != nil {
			return r, err
		}
		if i == 0 {
			r.Hours = h
		}
		if !h.OK {
			all = false
			continue
		}
		if !r.First.OK || h.V < r.First.V {
			r.First = h
		}
		if !r.Last.OK || h.V > r.Last.V {
			r.Last = h
		}
	}
	if !all {
		r.Last = units.None[float64]()
	}
	return r, nil
}

// hoursTo is the hours from now to a limit by one heat flow. Side is 1 for a
// ceiling and -1 for a floor.
func (o *Outage) hoursTo(limit units.Celsius, side, ua float64) (units.Optional[float64], error) {
	h, err := o.warming(ua).HoursToLimit(limit)
	if err != nil {
		return h, err
	}
	towards := side*(float64(o.Room-o.Tank)+o.HeatW/ua) >= 0
	beyond := side*float64(o.Tank-limit) >= 0 // at the moment of Tank
	switch {
	case beyond && (towards || !h.OK || h.V >= o.gone()):
		return units.Some(0.0), nil
	case beyond, !towards:
		return units.None[float64](), nil // it has come back, or it moves away
	}
	if h.OK {
		h.V = math.Max(0, h.V-o.gone())
	}
	return h, nil
}

// Excursion is what a failure did to the development of the eggs or fry.
type Excursion struct {
	Gained, Planned float64 // development index since the start, and at the setpoint
	FromReadings    bool    // from logger readings, not computed
	Days            float64 // of growth at the setpoint that the difference stands for
}

// Excursion sums the development from the start until now. It follows the good
// logger readings of that time when they reach from one end to the other within
// an hour, else the computed temperature; of a measured one a straight line from
// what the tank had before.
func (o *Outage) Excursion(m *biology.Model, setpoint, before units.Celsius, readings []logbook.Reading) (Excursion,
	error) {
	hours := o.Now.Sub(o.Since).Hours()
	at, logged := loggedBetween(readings, o.Since, o.Now)
	if !logged {
		w := o.warming(o.Heat.UA)
		at = func(h float64) (units.Celsius, error) {
			if o.Measured {
				return before + units.Celsius(float64(o.Tank-before)*h/math.Max(hours, 1e-9)), nil
			}
			return w.After(h)
		}
	}
	rate, _ := m.Rate(setpoint)
	e := Excursion{Planned: rate * hours / 24, FromReadings: logged}
	const steps = 200
	for i := range steps {
		t, err := at((float64(i) + 0.5) * hours / steps)
		if err != nil {
			return e, err
		}
		r, _ := m.Rate(t)
		e.Gained += r * hours / steps / 24
	}
	if rate > 0 {
		e.Days = (e.Gained - e.Planned) / rate
	}
	return e, nil
}

// loggedBetween is the temperature by hours from one moment to another, straight
// between readings.
func loggedBetween(readings []logbook.Reading, from, to time.Time) (func(float64) (units.Celsius, error), bool) {
	var rs []logbook.Reading
	for _, r := range readings {
		if !r.At.IsZero() && r.Quality != logbook.Suspect && !r.At.Before(from.Add(-time.Hour)) &&
			!r.At.After(to.Add(time.Hour)) {
			rs = append(rs, r)
		}
	}
	if len(rs) < 2 || rs[0].At.After(from.Add(time.Hour)) || rs[len(rs)-1].At.Before(to.Add(-time.Hour)) {
		return nil, false
	}
	for i := 1; i < len(rs); i++ {
		if rs[i].At.Sub(rs[i-1].At) > 3*time.Hour {
			return nil, false
		}
	}
	return func(hours float64) (units.Celsius, error) {
		at := from.Add(time.Duration(hours * float64(time.Hour)))
		for i := 1; i < len(rs); i++ {
			a, b := rs[i-1], rs[i]
			if !at.After(b.At) {
				k := math.Max(0, at.Sub(a.At).Seconds()/math.Max(1, b.At.Sub(a.At).Seconds()))
				return a.Temperature + units.Celsius(k*float64(b.Temperature-a.Temperature)), nil
			}
		}
		return rs[len(rs)-1].Temperature, nil
	}, true
}
