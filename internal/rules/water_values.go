package rules

import (
	"math"

	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/water"
)

// tests raises the newest water tests beyond their limits.
func (a *assessor) tests() {
	a.ph()
	a.ammonia()
	a.highTest(nitriteRule, "nitrite", NitriteWatch, NitriteAct, func(c *logbook.Check) units.Optional[units.MgPerL] { return c.Nitrite })
	a.nitrate()
	a.oxygen()
}

// nitrate is what the filter makes of the fish waste: it is expected to rise, and
// a water change takes it out.
func (a *assessor) nitrate() {
	c := a.newest(func(c *logbook.Check) bool { return c.Nitrate.OK })
	if c == nil {
		return
	}
	stage := a.stageOn(c.On)
	limit := a.limit(NitrateDue, stage)
	if !(float64(c.Nitrate.V) > limit+tie) || !a.lastEvent(logbook.WaterChange).Before(c.On.AddDays(1)) {
		return
	}
	a.raiseTest(nitrateRule(), Due, "nitrate", c, NitrateDue, stage, "", logbook.Args{"Value": c.Nitrate.V, "Limit": units.MgPerL(limit)})
}

// newest returns the newest check for which has holds, nil when there is none.
func (a *assessor) newest(has func(*logbook.Check) bool) *logbook.Check {
	for i := len(a.s.Checks) - 1; i >= 0; i-- {
		if has(&a.s.Checks[i]) {
			return &a.s.Checks[i]
		}
	}
	return nil
}

func (a *assessor) ph() {
	c := a.newest(func(c *logbook.Check) bool { return c.PH.OK })
	if c == nil {
		return
	}
	v, stage := c.PH.V, a.stageOn(c.On)
	low, high := PHWatchLow, PHWatchHigh
	kind := Watch
	if v < a.limit(PHActLow, stage)-tie || v > a.limit(PHActHigh, stage)+tie {
		kind, low, high = Act, PHActLow, PHActHigh
	}
	limit, variant := high, "high"
	switch {
	case v < a.limit(low, stage)-tie:
		limit, variant = low, "low"
	case !(v > a.limit(high, stage)+tie):
		return
	}
	a.raiseTest(phRule(), kind, "ph", c, limit, stage, variant, logbook.Args{"Value": v, "Limit": a.limit(limit, stage)})
}

func (a *assessor) highTest(rule func() Rule, subject string, watch, act Limit, value func(*logbook.Check) units.Optional[units.MgPerL]) {
	c := a.newest(func(c *logbook.Check) bool { return value(c).OK })
	if c == nil {
		return
	}
	a.high(rule, subject, c, float64(value(c).V), watch, act, nil)
}

// high raises a concentration above its limits.
func (a *assessor) high(rule func() Rule, subject string, c *logbook.Check, v float64, watch, act Limit, extra logbook.Args) {
	stage := a.stageOn(c.On)
	kind, limit := Watch, watch
	if v > a.limit(act, stage)+tie {
		kind, limit = Act, act
	}
	if !(v > a.limit(limit, stage)+tie) {
		return
	}
	args := logbook.Args{"Value": units.MgPerL(v), "Limit": units.MgPerL(a.limit(limit, stage))}
	for k, x := range extra {
		args[k] = x
	}
	a.raiseTest(rule(), kind, subject, c, limit, stage, "", args)
}

func (a *assessor) oxygen() {
	c := a.newest(func(c *logbook.Check) bool { return c.Oxygen.OK })
	if c == nil {
		return
	}
	v, stage := float64(c.Oxygen.V), a.stageOn(c.On)
	kind, limit := Watch, OxygenWatch
	if v < a.limit(OxygenAct, stage)-tie {
		kind, limit = Act, OxygenAct
	}
	if !(v < a.limit(limit, stage)-tie) {
		return
	}
	a.raiseTest(oxygenRule(), kind, "oxygen", c, limit, stage, "", logbook.Args{
		"Value": c.Oxygen.V, "Limit": units.MgPerL(a.limit(limit, stage)),
	})
}

func (a *assessor) raiseTest(r Rule, kind Kind, subject string, c *logbook.Check, limit Limit, stage int, variant string, args logbook.Args) {
	args["On"] = c.On
	f := Flag{Kind: kind, Subject: subject, Since: c.On, Headline: headline(r.ID, variant, args)}
	f.Source, f.LocalChoice = a.sourceOf(limit, stage)
	if kind == Act {
		f.Within, f.Class = Message{Key: now}, text(r.ID, "class_act")
	}
	a.raise(r, f)
}

// ammonia judges the un-ionised part, which harms fish, by the pH and the
// temperature of the test or the nearest before it.
func (a *assessor) ammonia() {
	c := a.newest(func(c *logbook.Check) bool { return c.TAN.OK })
	if c == nil || c.TAN.V <= 0 {
		return
	}
	ph, okPH := a.phFor(c)
	t, okT := a.temperatureFor(c)
	if !okPH || !okT {
		r := ammoniaNoPH()
		a.raise(r, Flag{Kind: Note, Subject: "ammonia", Since: c.On, Headline: headline(r.ID, "", logbook.Args{"Value": c.TAN.V, "On": c.On})})
		return
	}
	split, err := water.UnionisedAmmonia(c.TAN.V, t, ph)
	if err != nil {
		return // a value no calculator stands behind was refused when it was typed
	}
	a.high(ammoniaRule, "ammonia", c, float64(split.NH3), AmmoniaWatch, AmmoniaAct,
		logbook.Args{"Total": c.TAN.V, "PH": ph, "Temperature": t})
}

func (a *assessor) phFor(c *logbook.Check) (float64, bool) {
	if c.PH.OK {
		return c.PH.V, true
	}
	days := int(a.p.any(AmmoniaPHDays))
	near := a.newest(func(o *logbook.Check) bool { return o.PH.OK && !o.On.After(c.On) && c.On.Sub(o.On) <= days })
	if near == nil {
		return 0, false
	}
	return near.PH.V, true
}

func (a *assessor) temperatureFor(c *logbook.Check) (units.Celsius, bool) {
	best := math.NaN()
	for i := range a.points {
		if pt := &a.points[i]; !pt.on.After(c.On) && c.On.Sub(pt.on) <= 1 {
			best = pt.t
		}
	}
	if c.Temperature.OK {
		best = float64(c.Temperature.V)
	}
	return units.Celsius(math.Max(best, 0)), !math.IsNaN(best)
}
