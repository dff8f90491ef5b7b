package logbook

import (
	"math"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// Hard limits: outside them a value is impossible in a classroom tank and is
// refused. They are local choices, wide on purpose.
const (
	MinWater      units.Celsius = -1
	MaxWater      units.Celsius = 35
	MaxPH                       = 14.0
	MaxMgPerL                   = 500.0
	MaxOxygen                   = 30.0
	MaxChlorine                 = 10.0
	MaxAlkalinity               = 1000.0
	MaxFed                      = 1000.0
)

// CheckContext is what the validity of a check depends on beyond the check.
type CheckContext struct {
	Season *Season    // the season, without the check when it is a correction
	Today  civil.Date // at the site
	// Surprise is the change since the last temperature that asks "is this
	// right?"; 0 takes 3 degrees (local choice).
	Surprise units.CelsiusDelta
}

// Validate returns what is wrong (hard) and what is surprising and not yet
// confirmed (soft) with a check that is to be stored.
func (c *Check) Validate(ctx CheckContext) []Problem {
	v := &checkValidator{c: c, ctx: ctx}
	v.date()
	v.temperature()
	v.choices()
	v.counts()
	v.problems = append(v.problems, judge(c, checkFields)...)
	if c.PH.OK && c.PH.V <= MaxPH && c.PH.V >= 0 && (c.PH.V < 5 || c.PH.V > 9.5) {
		v.soft("ph", "ph.unusual", Args{"Value": c.PH.V})
	}
	if c.Empty() && len(v.problems) == 0 {
		v.hard("temperature", "check.empty", nil)
	}
	return v.problems
}

type checkValidator struct {
	c        *Check
	ctx      CheckContext
	problems []Problem
}

func (v *checkValidator) hard(field, key string, args Args) {
	v.problems = append(v.problems, Problem{Field: field, Key: key, Args: args})
}

func (v *checkValidator) soft(field, key string, args Args) {
	for _, f := range v.c.Confirmed {
		if f == field {
			return
		}
	}
	v.problems = append(v.problems, Problem{Field: field, Key: key, Args: args, Soft: true})
}

func (v *checkValidator) date() {
	c := v.c
	v.problems = append(v.problems, v.ctx.Season.validDay(c.On, v.ctx.Today)...)
	if c.Slot == "" {
		v.hard("slot", "check.slot", nil)
	}
}

func (v *checkValidator) temperature() {
	t, ok := v.c.Temperature.Get()
	if !ok {
		return
	}
	site := v.ctx.Season.Site.TemperatureUnit
	args := Args{"Typed": v.c.TemperatureEntered, "Value": t, "Min": MinWater, "Max": MaxWater}
	if !units.Finite(t) || t < MinWater || t > MaxWater {
		key := v.likeliestSlip(t, args)
		args["Unit"] = site
		v.hard("temperature", key, args)
		return
	}
	prev, when, ok := v.previousTemperature()
	limit := v.ctx.Surprise
	if limit == 0 {
		limit = 3
	}
	if !ok {
		if t < 0.5 || t > 16 {
			v.soft("temperature", "temperature.unusual", args)
		}
		return
	}
	if d := units.CelsiusDelta(t - prev); d >= limit || d <= -limit {
		args["Previous"], args["PreviousOn"], args["Change"] = prev, when, d
		key := "temperature.warmer"
		if d < 0 {
			key = "temperature.colder"
		}
		v.soft("temperature", key, args)
	}
}

// slipFits is how far from what is expected a mended number may lie to be asked
// about; without anything to expect it must be water for eggs. Local choices.
const (
	slipFits           = units.CelsiusDelta(4)
	eggsLow    float64 = 0
	eggsHigh   float64 = 16
	pointSlips         = 10
)

// likeliestSlip is the question about a temperature that cannot be: a decimal point
// left out or the other unit, whichever lies nearer to the last reading or the
// setpoint, and only when it lies near; else that the number is impossible.
func (v *checkValidator) likeliestSlip(t units.Celsius, args Args) string {
	if !units.Finite(t) {
		return "temperature.impossible"
	}
	point, other := t/pointSlips, units.Fahrenheit(t).Celsius()
	key, name := "temperature.maybe_fahrenheit", "AsFahrenheit"
	if v.c.TemperatureUnit == units.DegF {
		point, other = (t.Fahrenheit() / pointSlips).Celsius(), units.Celsius(t.Fahrenheit())
		key, name = "temperature.maybe_celsius", "AsCelsius"
	}
	want, _, known := v.previousTemperature()
	if sp := v.ctx.Season.SetpointOn(v.c.On); !known && sp.OK {
		want, known = sp.V, true
	}
	away := func(x units.Celsius) float64 {
		switch {
		case known && math.Abs(float64(x-want)) <= float64(slipFits):
			return math.Abs(float64(x - want))
		case !known && float64(x) >= eggsLow && float64(x) <= eggsHigh:
			return 1
		}
		return math.Inf(1)
	}
	switch p, o := away(point), away(other); {
	case math.IsInf(p, 1) && math.IsInf(o, 1):
		return "temperature.impossible"
	case p < o:
		args["Meant"] = point
		return "temperature.maybe_point"
	default:
		args[name] = other
		return key
	}
}

// previousTemperature is the last one of another check up to the same slot.
func (v *checkValidator) previousTemperature() (units.Celsius, civil.Date, bool) {
	s := v.ctx.Season
	for i := len(s.Checks) - 1; i >= 0; i-- {
		p := &s.Checks[i]
		if p.ID == v.c.ID || !p.Temperature.OK || p.On.After(v.c.On) ||
			(p.On == v.c.On && p.Slot.Order() >= v.c.Slot.Order()) {
			continue
		}
		return p.Temperature.V, p.On, true
	}
	return 0, civil.Date{}, false
}

func (v *checkValidator) choices() {
	c := v.c
	switch n, _ := c.Dead(); {
	case c.DeadCause != "" && listed(DeadCauses(), c.DeadCause) && n == 0:
		v.hard("dead_cause", "check.cause_alone", nil)
	}
	v.stageBackwards()
	v.afterRelease()
}

// afterRelease asks about fish seen in a tank from which all were released.
func (v *checkValidator) afterRelease() {
	c, s := v.c, v.ctx.Season
	field := "stage"
	if c.Hatched != "" {
		field = "hatched"
	} else if c.Stage == "" {
		return
	}
	var released civil.Date
	for i := range s.Events {
		if e := &s.Events[i]; e.Kind == Released && e.On.Before(c.On) {
			released = civil.Max(released, e.On)
		}
	}
	if !released.IsZero() && s.TotalsOn(c.On).Alive == 0 {
		v.soft(field, "check.after_release", Args{"On": c.On, "Released": released})
	}
}

// stageBackwards asks when the stage is earlier in life than one seen before.
func (v *checkValidator) stageBackwards() {
	c, s := v.c, v.ctx.Season
	if c.Stage.Order() == 0 {
		return
	}
	for i := len(s.Checks) - 1; i >= 0; i-- {
		p := &s.Checks[i]
		if p.ID == c.ID || p.On.After(c.On) || p.Stage == "" {
			continue
		}
		if p.Stage.Order() > c.Stage.Order() {
			v.soft("stage", "stage.backwards", Args{"Stage": c.Stage, "Previous": p.Stage, "PreviousOn": p.On})
		}
		return
	}
}

func (v *checkValidator) counts() {
	c, s := v.c, v.ctx.Season
	fields := []struct {
		field string
		n     units.Optional[int]
	}{{"dead_eggs", c.DeadEggs}, {"dead_alevins", c.DeadAlevins}, {"dead_fry", c.DeadFry}}
	for _, f := range fields {
		if f.n.OK && f.n.V < 0 {
			v.hard(f.field, "number.negative", nil)
			return
		}
	}
	dead, counted := c.Dead()
	if !counted || dead == 0 {
		return
	}
	field := "dead_eggs"
	for _, f := range fields {
		if f.n.V > 0 {
			field = f.field
			break
		}
	}
	t := s.TotalsOn(c.On)
	alive := t.Alive
	for i := range s.Checks { // a correction replaces its own earlier count
		if s.Checks[i].ID == c.ID {
			old, _ := s.Checks[i].Dead()
			alive += old
		}
	}
	in := t.Delivered + t.MovedIn
	switch {
	case in > 0 && dead > in:
		v.hard(field, "dead.more_than_delivered", Args{"Dead": dead, "Delivered": in})
	case in > 0 && dead > alive:
		v.soft(field, "dead.more_than_alive", Args{"Dead": dead, "Alive": alive})
	case dead >= 5 && dead*10 >= alive:
		v.soft(field, "dead.many", Args{"Dead": dead, "Alive": alive})
	}
}
