package rules

import (
	"math"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/stats"
	"reddside/internal/units"
)

func temperatureDeparture() Rule {
	return newRule("temperature_departure", Temperature, logbook.Keeper, today, 3,
		[]string{"second_thermometer", "check_setpoint", "record_setpoint", "check_flow", "caution_electric",
			"check_vents",
			"check_ice", "sealed_ice", "slow_change", "slow_warm", "phone_coordinator"},
		DepartureWatch, DepartureLeast, DepartureLevel)
}

// settleDays is how long water may be on its way to a new setpoint. Local choice:
// a chilled tank follows by a degree or more a day.
const settleDays = 4

// departureTrack judges how far the water is from its setpoint, as far as has been
// read. In a replay it is kept from day to day.
type departureTrack struct {
	run *stats.DepartureRun
}

// judged reads on to the newest temperature and returns its verdict.
func (t *departureTrack) judged(a *assessor) stats.Departure {
	if t.run == nil {
		t.run = stats.NewDepartureRun(a.departureConfig(), len(a.points))
	}
	first := a.s.StartedOn()
	want := setpointCursor{s: a.s}
	for i := t.run.Len(); i < len(a.points); i++ {
		pt := &a.points[i]
		t.run.Add(stats.Look{Day: float64(pt.on.Sub(first)), Celsius: pt.t, Want: want.of(pt), Logger: pt.check < 0,
			Eve: !a.due(pt.on.AddDays(1))})
	}
	return t.run.Last()
}

func (a *assessor) departureConfig() stats.DepartureConfig {
	c := stats.DefaultDepartureConfig()
	c.Watch, c.Least, c.Level = a.p.any(DepartureWatch), a.p.any(DepartureLeast), a.p.any(DepartureLevel)
	return c
}

// setpointCursor answers what temperature was wanted on days asked about in order.
type setpointCursor struct {
	s       *logbook.Season
	next    int
	current float64
	changed []float64 // setpoints that the water may still be coming from
	on      civil.Date
	begun   bool
}

// of is the setpoint a reading is held against: after a change the nearest of the
// setpoints between which the water is on its way. NaN without one.
func (w *setpointCursor) of(pt *point) float64 {
	if !w.begun {
		w.begun, w.current = true, math.NaN()
		if sp := w.s.Tank.Setpoint; sp.OK {
			w.current = float64(sp.V)
		}
	}
	for ; w.next < len(w.s.Events) && !w.s.Events[w.next].On.After(pt.on); w.next++ {
		e := &w.s.Events[w.next]
		if e.Kind != logbook.SetpointChange || !e.Setpoint.OK {
			continue
		}
		if e.On.Sub(w.on) > settleDays {
			w.changed = w.changed[:0]
		}
		if !math.IsNaN(w.current) {
			w.changed = append(w.changed, w.current)
		}
		w.current, w.on = float64(e.Setpoint.V), e.On
	}
	low, high := w.current, w.current
	if !w.on.IsZero() && pt.on.Sub(w.on) <= settleDays {
		for _, v := range w.changed {
			low, high = math.Min(low, v), math.Max(high, v)
		}
	}
	return math.Max(low, math.Min(high, pt.t))
}

// away is how far the newest water is from where it should be, nil when there is
// no reading or nothing to speak of.
func (a *assessor) away() *stats.Departure {
	if len(a.points) == 0 {
		return nil
	}
	if !a.awayKnown {
		t := &departureTrack{}
		if a.track != nil {
			t = &a.track.departure
		}
		a.awayNow, a.awayKnown = t.judged(a), true
	}
	if a.awayNow.Flag == stats.DeadNone {
		return nil
	}
	return &a.awayNow
}

// departure raises warming and cooling that nobody wanted: how far the water is
// from the setpoint or, without one, from the tank's own usual. warm and cold are
// the episodes outside the limits of the stage; the more urgent flag speaks, and
// past the limit to act on it is always the limit: a flag about the setpoint that
// somebody set aside must not hide deadly water.
func (a *assessor) departure(warm, cold episode) {
	d := a.away()
	if d == nil {
		return
	}
	last, warmer := &a.points[len(a.points)-1], d.Away > 0
	kind, limits := Watch, cold
	if d.Flag == stats.DeadAct {
		kind = Act
	}
	if warmer {
		limits = warm
	}
	explained := warmer && a.warmCause || !warmer && a.coldCause
	if explained || limits.on && (limits.act || limits.kind().Order() < kind.Order()) {
		return
	}
	if warmer {
		a.warmCause = true
	} else {
		a.coldCause = true
	}
	r := temperatureDeparture()
	f := Flag{Kind: kind, Subject: "water", Since: a.points[d.Since].on}
	setpoint := a.s.SetpointOn(last.on)
	running := warmer && setpoint.OK && a.chillerSeenRunning(f.Since)
	args := logbook.Args{"Value": units.Celsius(last.t), "Away": units.CelsiusDelta(math.Abs(d.Away)), "Since": f.Since}
	variant := "colder"
	if warmer {
		variant = "warmer"
	}
	switch {
	case !setpoint.OK:
		variant += "_usual"
		args["Usual"] = units.Celsius(d.Usual)
	case running:
		variant += "_running"
		args["Setpoint"] = setpoint.V
	case d.Rising:
		variant += "_goes_on"
		args["Setpoint"] = setpoint.V
	default:
		args["Setpoint"] = setpoint.V
	}
	f.Headline = headline(r.ID, variant, args)
	switch {
	case !setpoint.OK || !a.s.Tank.HasChiller:
		f.Why = text(r.ID, "why_usual")
	case !warmer:
		f.Why = text(r.ID, "why_colder")
	}
	if kind == Act {
		f.Within, f.Class = Message{Key: now}, text(r.ID, "class_act")
	}
	if looks := a.nextLook(last.on); (d.Stricter || kind == Act) && a.today.Before(looks) && looks.Sub(last.on) > 1 {
		part := "why_off"
		if d.Stricter {
			part, f.Within = "why_eve", Message{Key: today}
		}
		f.Why = text(r.ID, part)
		f.Why.Args = logbook.Args{"Day": looks.Weekday(), "On": looks}
	}
	a.raise(r, f)
}

// chillerSeenRunning reports whether the newest check since d that says something
// of the chiller saw it run.
func (a *assessor) chillerSeenRunning(d civil.Date) bool {
	for i := len(a.s.Checks) - 1; i >= 0 && !a.s.Checks[i].On.Before(d); i-- {
		switch a.s.Checks[i].Chiller {
		case logbook.Running:
			return true
		case logbook.Stopped, logbook.NotFitted:
			return false
		}
	}
	return false
}

// nextLook is the next day after d on which a check is due.
func (a *assessor) nextLook(d civil.Date) civil.Date {
	const farthest = 60
	for n := 1; n < farthest; n++ {
		if on := d.AddDays(n); a.due(on) {
			return on
		}
	}
	return d.AddDays(farthest)
}
