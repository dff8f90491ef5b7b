package rules

import (
	"cmp"

	"reddside/internal/civil"
)

// Pace is how soon what a flag tells of kills, when nobody acts.
type Pace int

// The paces, soonest first.
const (
	InHours Pace = iota
	InADay
	InDays
	Later
)

// PaceOf is how soon what a rule tells of kills when it is act. Common practice, no
// source: without moving water or air, in chlorine, or where they already die, it is
// hours; poisons, heat and ice take about a day; what is only on its way takes days.
func PaceOf(rule string) Pace {
	switch rule {
	case "power_out", "air_pump_stopped", "filter_stopped", "oxygen", "chlorine", "dead_count":
		return InHours
	case "ammonia", "ammonia_no_ph", "nitrite", "ph", "gas", "temperature_high", "temperature_low", "temperature_jump",
		"chiller_stopped":
		return InADay
	case "temperature_departure", "fungus", CheckMissing, "nobody_looked":
		return InDays
	}
	return Later
}

// Harm is what a flag may cost, for lists of flags and of tanks. The zero value is
// no harm and stands last.
type Harm struct {
	Kind    Kind
	Pace    Pace
	AtStake int        // eggs or fish alive
	Since   civil.Date // of the flag
}

// Compare puts act before watch, what kills sooner before what kills later, more at
// stake before less, and what has gone on for longer before what began later.
func (h Harm) Compare(o Harm) int {
	return cmp.Or(cmp.Compare(h.Kind.Order(), o.Kind.Order()), cmp.Compare(h.Pace, o.Pace),
		cmp.Compare(o.AtStake, h.AtStake),
		h.Since.Compare(o.Since))
}

// HarmOf is what a flag of the tank may cost.
func (a *Assessment) HarmOf(f *Flag) Harm {
	return Harm{Kind: f.Kind, Pace: PaceOf(f.Rule), AtStake: a.Totals.Alive, Since: f.Since}
}

// HarmWithout is the worst that a tank's act and watch flags may cost, without those
// for which aside holds, as in StatusWithout.
func (a *Assessment) HarmWithout(aside func(*Flag) bool) Harm {
	var worst Harm
	for i := range a.Flags {
		f := &a.Flags[i]
		if f.Kind != Act && f.Kind != Watch || aside != nil && aside(f) {
			continue
		}
		if h := a.HarmOf(f); h.Compare(worst) < 0 {
			worst = h
		}
	}
	return worst
}
