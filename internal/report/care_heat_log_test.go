package report

import (
	"errors"
	"math"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/water"
)

// 150 L at 7 C in a room of 5 C with 40 W of pumps ends at 5 + 40/UA: at 14.4
// W/K 7.8 C, at 9 W/K 9.4 C, at 6.3 W/K 11.3 C. Only the last passes 10 C, after
// tau ln((11.35-7)/(11.35-10)) with tau = 150 x 4186 / 6.3 / 3600 = 27.7 h: 32 h
// (closed form).
func TestCareOutageLeakLess(t *testing.T) {
	o := Outage{Since: careStart, Now: careStart, Tank: 7, Measured: true, Room: 5, Volume: 150, HeatW: 40,
		Heat: TankHeat{UA: 9, Low: 6.3, High: 14.4}}
	r, err := o.Ceiling(10)
	if err != nil || r.Hours.OK || r.Last.OK || !r.First.OK || math.Abs(r.First.V-32.4) > 0.5 {
		t.Errorf("%+v %v, want perhaps from 32 h", r, err)
	}
	// All three reach 7.5 C, the leakiest the latest.
	if r, err = o.Ceiling(7.5); err != nil || !(r.First.V < r.Hours.V && r.Hours.V < r.Last.V) {
		t.Errorf("%+v %v", r, err)
	}
	// A cool room never makes this tank colder; a tank above a ceiling has passed
	// it, also while it cools, until it is back below.
	if r, err = o.Floor(6.5); err != nil || r.First.OK {
		t.Errorf("floor: %+v %v", r, err)
	}
	o.Tank, o.HeatW = 13, 0
	if r, err = o.Ceiling(12); err != nil || !r.Hours.OK || r.Hours.V != 0 || r.Last.V != 0 {
		t.Errorf("above: %+v %v", r, err)
	}
	o.Measured, o.Now = false, careStart.Add(100*time.Hour)
	if r, err = o.Ceiling(12); err != nil || r.First.OK {
		t.Errorf("back below: %+v %v", r, err)
	}
	if _, err = o.Floor(-1); !errors.As(err, new(units.RangeError)) {
		t.Errorf("a limit of ice: %v", err)
	}
}

// The same rise counts only where the log says that the chiller did not run.
func TestCareStretchOfLog(t *testing.T) {
	on := civil.In(careStart, time.UTC) // the rise lasts from 08:00 to 18:00
	rise := careReadings(careStart, 15*time.Minute, 41, func(h float64) float64 { return 7 + 0.4*h })
	cut := func(clock string, hours float64) logbook.Event {
		return logbook.Event{Kind: logbook.PowerCut, On: on, Time: clock, Hours: units.Some(hours)}
	}
	check := func(day int, clock string, e logbook.Equipment) logbook.Check {
		return logbook.Check{On: on.AddDays(day), Time: clock, Chiller: e}
	}
	setpoint := logbook.Event{Kind: logbook.SetpointChange, On: on, Setpoint: units.Some[units.Celsius](9)}
	for name, c := range map[string]struct {
		events []logbook.Event
		checks []logbook.Check
		hours  float64 // of the stretch, 0 for none
		power  bool
	}{
		"nothing logged": {},
		"chiller seen running": {checks: []logbook.Check{check(-1, "", logbook.Running),
			check(0, "09:00", logbook.Running)}},
		"power cut":             {events: []logbook.Event{cut("08:00", 12)}, hours: 10, power: true},
		"part of it":            {events: []logbook.Event{cut("08:00", 4)}, hours: 4, power: true},
		"cut without a time":    {events: []logbook.Event{cut("", 11)}, hours: 10, power: true},
		"rise longer than cut":  {events: []logbook.Event{cut("", 3)}},
		"cut of another time":   {events: []logbook.Event{cut("20:00", 3)}},
		"cut without its hours": {events: []logbook.Event{{Kind: logbook.PowerCut, On: on, Time: "08:00"}}},
		"stopped":               {checks: []logbook.Check{check(0, "09:00", logbook.Stopped)}, hours: 10},
		"stopped, then ran": {checks: []logbook.Check{check(0, "09:00", logbook.Stopped),
			check(0, "13:00", logbook.Running)}, hours: 5},
		"ran the day before": {checks: []logbook.Check{check(-2, "", logbook.Stopped),
			check(-1, "", logbook.Running)}},
		"setpoint changed": {events: []logbook.Event{cut("08:00", 12), setpoint}},
	} {
		s := &logbook.Season{Site: logbook.Site{Zone: "UTC"}, Readings: rise, Events: c.events, Checks: c.checks}
		got, ok := WarmingStretch(s)
		if ok != (c.hours > 0) || math.Abs(got.Hours()-c.hours) > 0.3 || got.PowerCut != c.power {
			t.Errorf("%s: %.2f h, power %v, %v; want %.0f h", name, got.Hours(), got.PowerCut, ok, c.hours)
		}
	}
}

// A rise far slower or faster than the walls allow was not the room alone.
func TestCareFitUnlikeWalls(t *testing.T) {
	walls, err := HeatOfWalls(189, logbook.BareGlass)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		ua   float64
		want error
	}{{walls.UA, nil}, {walls.Low * 0.55, nil}, {walls.Low * 0.45, ErrHeatUnlike}, {walls.High * 1.9, nil},
		{walls.High * 2.1, ErrHeatUnlike}} {
		tau := 189 * water.WaterJPerKgK / c.ua / 3600
		s, ok := longestRise(careReadings(careStart, 15*time.Minute, 60,
			func(h float64) float64 { return 22 - 15*math.Exp(-h/tau) }))
		if !ok {
			t.Fatal("no rise")
		}
		if _, err := HeatOfRecord(189, 0, s, 22, walls); !errors.Is(err, c.want) {
			t.Errorf("UA %.1f: %v, want %v", c.ua, err, c.want)
		}
	}
}
