package rules

import (
	"strings"

	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/water"
)

// SetChange is a limit that a chosen set of water limits would change. Value is
// absent when the limit goes back to stock.
type SetChange struct {
	Limit  Limit
	Stage  logbook.Stage
	Value  units.Optional[float64]
	Source string // set and citation; "" when it only moves so that limits do not cross
	Was    float64
}

// WaterSetLimits are the thresholds that a set of water limits can change.
func WaterSetLimits() []Limit {
	return []Limit{AmmoniaWatch, AmmoniaAct, NitriteWatch, NitriteAct, NitrateDue, PHActLow, PHWatchLow, PHWatchHigh,
		PHActHigh, OxygenWatch, OxygenAct}
}

// WaterSetName is the name of the set that a chosen limit comes from, "" for none.
func WaterSetName(source string) string {
	name, _, found := strings.Cut(source, ": ")
	if !found {
		return ""
	}
	return name
}

// WaterSetChanges lists what choosing a set changes. What the set says nothing of
// stays, but moves as far as it must so that watch comes before act.
func WaterSetChanges(set water.LimitSet, p *Profile) []SetChange {
	c := setChooser{set: set, p: p}
	c.high(water.ParamUnionisedAmmonia, water.NH3, AmmoniaWatch, AmmoniaAct)
	c.high(water.ParamNitriteN, 1, NitriteWatch, NitriteAct)
	if l, ok := set.Limit(water.ParamNitrate, water.StageAny); ok && l.HighWarn.OK {
		c.put(NitrateDue, "", float64(water.NO3.AsN(units.MgPerL(l.HighWarn.V))), c.source(l))
	}
	if l, ok := set.Limit(water.ParamPH, water.StageAny); ok {
		c.pair(l.LowAlarm, l.LowWarn, l, PHActLow, PHWatchLow, "")
		c.pair(l.HighWarn, l.HighAlarm, l, PHWatchHigh, PHActHigh, "")
	}
	if l, ok := set.Limit(water.ParamOxygen, water.StageEggsInBasket); ok {
		c.pair(l.LowAlarm, l.LowWarn, l, OxygenAct, OxygenWatch, "")
	}
	if l, ok := set.Limit(water.ParamOxygen, water.StageFry); ok && l.LowAlarm.OK {
		for _, stage := range []logbook.Stage{logbook.Fry, logbook.Parr, logbook.Smolt} {
			c.put(OxygenAct, stage, l.LowAlarm.V, c.source(l))
		}
	}
	return c.out
}

type setChooser struct {
	set water.LimitSet
	p   *Profile
	out []SetChange
}

func (c *setChooser) source(l water.Limit) string { return c.set.Name + ": " + l.Source }

func (c *setChooser) put(l Limit, stage logbook.Stage, v float64, source string) {
	was, _ := c.p.Value(l, "", stage)
	c.out = append(c.out, SetChange{Limit: l, Stage: stage, Value: units.Some(v), Source: source, Was: was})
}

// high takes the upper limits of a parameter. Those of ammonia are kept as NH3; a
// source that does not say is read as NH3, which is the more careful reading.
func (c *setChooser) high(parameter string, ion water.Ion, watch, act Limit) {
	l, ok := c.set.Limit(parameter, water.StageAny)
	if !ok {
		return
	}
	if parameter == water.ParamUnionisedAmmonia && l.Basis == "N" {
		for _, o := range []*units.Optional[float64]{&l.HighWarn, &l.HighAlarm} {
			o.V = float64(ion.FromN(units.MgPerL(o.V)))
		}
	}
	c.pair(l.HighWarn, l.HighAlarm, l, watch, act, "")
}

// pair takes two limits of which low must not be above high.
func (c *setChooser) pair(low, high units.Optional[float64], l water.Limit, lower, upper Limit, stage logbook.Stage) {
	nowLow, _ := c.p.Value(lower, "", stage)
	nowHigh, _ := c.p.Value(upper, "", stage)
	if low.OK {
		c.put(lower, stage, low.V, c.source(l))
	} else if high.OK && nowLow > high.V {
		c.put(lower, stage, high.V, "")
	}
	if high.OK {
		c.put(upper, stage, high.V, c.source(l))
	} else if low.OK && nowHigh < low.V {
		c.put(upper, stage, low.V, "")
	}
}
