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
	a.highTest(nitriteRule, "nitrite", NitriteWatch, NitriteAct,
		func(c *logbook.Check) units.Optional[units.MgPerL] { return c.Nitrite })
	a.nitrate()
	a.oxygen()
	a.chlorine()
	a.alkalinity()
}

// chlorine is too much as soon as a kit shows it.
func (a *assessor) chlorine() {
	c := a.newest(func(c *logbook.Check) bool { return c.Chlorine.OK })
	if c == nil || float64(c.Chlorine.V) <= a.p.any(ChlorineAct)+tie {
		return
	}
	a.raiseTest(chlorineRule(), Act, "chlorine", c, ChlorineAct, 0, "", logbook.Args{"Value": c.Chlorine.V,
		"Limit": units.MgPerL(a.p.any(ChlorineAct))})
}

// alkalinity is what holds the pH; the filter uses it up.
func (a *assessor) alkalinity() {
	c := a.newest(func(c *logbook.Check) bool { return c.Alkalinity.OK })
	if c == nil || float64(c.Alkalinity.V) >= a.p.any(AlkalinityLow)-tie {
		return
	}
	a.raiseTest(alkalinityRule(), Watch, "alkalinity", c, AlkalinityLow, 0, "",
		logbook.Args{"Value": c.Alkalinity.V, "Limit": units.MgPerL(a.p.any(AlkalinityLow))})
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
	a.raiseTest(nitrateRule(), Due, "nitrate", c, NitrateDue, stage, "",
		logbook.Args{"Value": c.Nitrate.V, "Limit": units.MgPerL(limit)})
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
		a.phMoved(c, stage)
		return
	}
	a.raiseTest(phRule(), kind, "ph", c, limit, stage, variant,
		logbook.Args{"Value": v, "Limit": a.limit(limit, stage)})
}

// phMoved raises a pH inside its limits that moved much since the test before.
func (a *assessor) phMoved(c *logbook.Check, stage int) {
	days := int(a.p.any(AmmoniaPHDays))
	before := a.newest(func(o *logbook.Check) bool {
		return o.PH.OK && o != c && !o.On.After(c.On) &&
			c.On.Sub(o.On) <= days
	})
	limit := a.limit(PHChange, 0)
	// A change of water between the two explains it.
	if before == nil || a.lastEvent(logbook.WaterChange).After(before.On) &&
		!a.lastEvent(logbook.WaterChange).After(c.On) || math.Abs(c.PH.V-before.PH.V) < limit-tie {
		return
	}
	a.raiseTest(phRule(), Watch, "ph", c, PHChange, stage, "moved", logbook.Args{"Value": c.PH.V, "Before": before.PH.V,
		"BeforeOn": before.On, "Limit": limit})
}

func (a *assessor) highTest(rule func() Rule, subject string, watch, act Limit,
	value func(*logbook.Check) units.Optional[units.MgPerL]) {
	c := a.newest(func(c *logbook.Check) bool { return value(c).OK })
	if c == nil {
		return
	}
	a.high(rule, subject, c, float64(value(c).V), watch, act, nil)
}

// high raises a concentration above its limits.
func (a *assessor) high(rule func() Rule, subject string, c *logbook.Check, v float64, watch, act Limit,
	extra logbook.Args) {
	stage := a.stageOn(c.On)
	kind, limit := Watch, watch
	if v > a.limit(act, stage)+tie {
		kind, limit = Act, act
	}
	if !(v > a.limit(limit, stage)+tie) {
		return
	}
	// Whatever the urgency, the limit that is told is the one that is wanted.
	args := logbook.Args{"Value": units.MgPerL(v), "Limit": units.MgPerL(a.limit(watch, stage))}
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
	percent, known := a.saturation(c)
	args := logbook.Args{"Value": c.Oxygen.V, "Limit": units.MgPerL(a.limit(OxygenWatch, stage))}
	switch {
	case v < a.limit(OxygenAct, stage)-tie:
		a.raiseTest(oxygenRule(), Act, "oxygen", c, OxygenAct, stage, "", args)
	case v < a.limit(OxygenWatch, stage)-tie:
		a.raiseTest(oxygenRule(), Watch, "oxygen", c, OxygenWatch, stage, "", args)
	case known && a.lowShare(c, percent, stage):
		args["Percent"], args["Limit"] = math.Round(percent), a.limit(OxygenShareLow, stage)
		a.raiseTest(oxygenRule(), Watch, "oxygen", c, OxygenShareLow, stage, "share", args)
	case known && percent > a.p.any(GasWatch)+tie:
		kind, limit := Watch, GasWatch
		if percent > a.p.any(GasAct)+tie {
			kind, limit = Act, GasAct
		}
		a.raiseTest(gasRule(), kind, "gas", c, limit, stage, "",
			logbook.Args{"Value": c.Oxygen.V, "Percent": math.Round(percent), "Limit": a.p.any(GasWatch)})
	}
}

// lowShare reports whether eggs or alevins have too small a share of what the water
// can hold. Without the altitude the share is not known well enough.
func (a *assessor) lowShare(c *logbook.Check, percent float64, stage int) bool {
	return a.s.Site.Altitude.OK && stage > 0 && stage <= alevin && percent < a.limit(OxygenShareLow, stage)-tie
}

// saturation is the oxygen of a test as a percentage of what the water holds.
func (a *assessor) saturation(c *logbook.Check) (float64, bool) {
	t, ok := a.temperatureFor(c)
	if !ok {
		return 0, false
	}
	press, err := water.PressureAtAltitude(a.s.Site.Altitude.Or(0))
	if err != nil {
		return 0, false
	}
	percent, err := water.PercentSaturation(c.Oxygen.V, t, press)
	return percent, err == nil
}

func (a *assessor) raiseTest(r Rule, kind Kind, subject string, c *logbook.Check, limit Limit, stage int,
	variant string, args logbook.Args) {
	a.raiseTestOf("", r, kind, subject, c, limit, stage, variant, args)
}

// raiseTestOf raises a test against a bound with a source of its own.
func (a *assessor) raiseTestOf(source string, r Rule, kind Kind, subject string, c *logbook.Check, limit Limit,
	stage int, variant string, args logbook.Args) {
	args["On"] = c.On
	f := Flag{Kind: kind, Subject: subject, Since: c.On, Headline: headline(r.ID, variant, args)}
	if f.Source, f.LocalChoice = a.sourceOf(limit, stage); source != "" {
		f.Source, f.LocalChoice = source, false
	}
	if kind == Act {
		f.Within, f.Class = Message{Key: now}, text(r.ID, "class_act")
	}
	a.raise(r, f)
}

// ammoniaVerdict is what an ammonia test means. Limit is AmmoniaWatch or, for what
// is judged as total ammonia, TotalAmmoniaWatch; Kind is "" inside the limits.
type ammoniaVerdict struct {
	Kind         Kind
	Limit        Limit
	Value, Bound float64
	Blind        bool // neither pH nor temperature to judge the un-ionised part by
	PH           float64
	T            units.Celsius
	Source       string // of Bound when no threshold holds it
}

// epa2013 is the source of the largest total ammonia.
const epa2013 = "US EPA 2013, 30-day criterion for total ammonia at this pH and temperature (from memory)"

// judgeAmmonia judges an ammonia test, for flags, pages and the hold of food alike:
// the un-ionised part, which harms most, by pH and temperature of the test or the
// nearest before it; and the total, which harms at a low pH too.
func (a *assessor) judgeAmmonia(c *logbook.Check) ammoniaVerdict {
	stage := a.stageOn(c.On)
	total, high := float64(c.TAN.V), a.limit(TotalAmmoniaWatch, a.stageOn(c.On))
	v := ammoniaVerdict{Limit: TotalAmmoniaWatch, Value: total, Bound: high}
	ph, okPH := a.phFor(c)
	t, okT := a.temperatureFor(c)
	if v.Blind = !okPH || !okT; v.Blind {
		switch {
		case total > high+tie:
			v.Kind = Act
		case total > 0:
			v.Kind = Note
		}
		return v
	}
	v.PH, v.T = ph, t
	if total > high+tie {
		v.Kind = Watch
	}
	chronic, err := water.EPAChronicTAN(units.Celsius(math.Min(float64(t), water.EPAHighC)),
		math.Min(math.Max(ph, water.EPALowPH), water.EPAHighPH))
	if err == nil && total > float64(chronic)+tie {
		v.Kind, v.Bound, v.Source = Act, float64(chronic), epa2013
	}
	split, err := water.UnionisedAmmonia(c.TAN.V, t, ph)
	if err != nil {
		return v // a value no calculator stands behind was refused when it was typed
	}
	kind := Kind("")
	switch nh3 := float64(split.NH3); {
	case nh3 > a.limit(AmmoniaAct, stage)+tie:
		kind = Act
	case nh3 > a.limit(AmmoniaWatch, stage)+tie:
		kind = Watch
	}
	if kind != "" && kind.Order() <= v.Kind.Order() {
		v.Kind, v.Limit, v.Value, v.Bound, v.Source = kind, AmmoniaWatch, float64(split.NH3),
			a.limit(AmmoniaWatch, stage), ""
	}
	return v
}

func (a *assessor) ammonia() {
	c := a.newest(func(c *logbook.Check) bool { return c.TAN.OK })
	if c == nil || c.TAN.V <= 0 {
		return
	}
	v := a.judgeAmmonia(c)
	if v.Blind {
		r := ammoniaNoPH()
		f := Flag{Kind: v.Kind, Subject: "ammonia", Since: c.On,
			Headline: headline(r.ID, "", logbook.Args{"Value": c.TAN.V, "On": c.On})}
		if v.Kind == Act {
			f.Within = Message{Key: now}
		}
		a.raise(r, f)
		return
	}
	if v.Kind == "" {
		return
	}
	variant := ""
	if v.Limit == TotalAmmoniaWatch {
		variant = "total"
	}
	a.raiseTestOf(v.Source, ammoniaRule(), v.Kind, "ammonia", c, v.Limit, a.stageOn(c.On), variant,
		logbook.Args{"Value": units.MgPerL(v.Value), "Limit": units.MgPerL(v.Bound), "Total": c.TAN.V, "PH": v.PH,
			"Temperature": v.T})
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
