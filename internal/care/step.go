package care

import (
	"strings"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// Urgency is how soon a step is due.
type Urgency string

// The urgencies, most urgent first.
const (
	AtOnce   Urgency = "at_once"
	Today    Urgency = "today"
	ThisWeek Urgency = "this_week"
)

// Known says how the source of a step is known.
type Known string

// How a step is known.
const (
	Read     Known = "read"     // its source was read
	Memory   Known = "memory"   // its source is recalled
	Practice Known = "practice" // common practice, no source
)

// Effect is what a step does to the tank. Steps of opposite effects never stand
// side by side (see Clash).
type Effect string

// The effects that can contradict each other.
const (
	NoEffect     Effect = ""
	Cools        Effect = "cools"
	KeepsWarm    Effect = "keeps_warm"
	StopsFood    Effect = "stops_food"
	Feeds        Effect = "feeds"
	ChangesWater Effect = "changes_water"
	KeepsWater   Effect = "keeps_water" // nothing is poured in or away before somebody has looked
	MovesEggs    Effect = "moves_eggs"
	LeavesEggs   Effect = "leaves_eggs"
)

// Clash reports whether two effects contradict each other.
func Clash(a, b Effect) bool {
	for _, pair := range [][2]Effect{{Cools, KeepsWarm}, {StopsFood, Feeds}, {ChangesWater, KeepsWater},
		{MovesEggs, LeavesEggs}} {
		if a == pair[0] && b == pair[1] || a == pair[1] && b == pair[0] {
			return true
		}
	}
	return false
}

// Situation is what decides which steps fit a tank.
type Situation struct {
	Stage     logbook.Stage // "" when it is not known
	Act       bool          // the value is past the limit to act on
	Cold      bool          // the room, or the failure, makes the tank colder
	NearHatch bool          // hatching goes on, or is near
	Tender    bool          // green eggs that must not be moved
	Basket    bool          // the eggs or alevins are in a basket
	NoChiller bool          // the tank has none
	MassLoss  bool          // a large part of the tank died between two looks, today or in the days before
	MassToday bool          // it is the newest look that found it
	Old       bool          // what the step rests on is so old that starving does more harm
}

// isFish reports whether what lives in the tank eats. An unknown stage may.
func (s Situation) isFish() bool {
	return s.Stage == "" || s.Stage.Order() >= logbook.Fry.Order()
}

// When is the situation a step is for; the zero value is any.
type When struct {
	Fish, Eggs    bool // fry and later; eggs and alevins
	Act           bool // only past the limit to act on
	Warm, Cold    bool
	Tender, Hardy bool // green eggs in the tender days; everything else
	Basket        bool
	Chiller       bool
	Mass, NotMass bool
	Struck        bool // a mass death that was found just now
	Fresh         bool
}

// Holds reports whether the step is for a situation.
func (w When) Holds(s Situation) bool {
	switch {
	case w.Fish && !s.isFish(), w.Eggs && s.isFish(),
		w.Act && !s.Act,
		w.Warm && s.Cold, w.Cold && !s.Cold,
		w.Tender && !s.Tender, w.Hardy && s.Tender,
		w.Basket && !s.Basket,
		w.Chiller && s.NoChiller,
		w.Mass && !s.MassLoss, w.NotMass && s.MassLoss, w.Struck && !s.MassToday,
		w.Fresh && s.Old:
		return false
	}
	return true
}

// Step is one thing to do.
type Step struct {
	ID      string
	When    When
	Urgency Urgency
	Effect  Effect
	Source  string // citation; "" for common practice
	Known   Known
	Args    logbook.Args // values of its text; nil when it has none
}

// Key returns the catalogue key of the step's text.
func (s Step) Key() string { return stepPrefix + s.ID }

// StopsFoodKey reports whether the text of a step stops the food.
func StopsFoodKey(key string) bool {
	id, ok := strings.CutPrefix(key, stepPrefix)
	return ok && steps[id].Effect == StopsFood
}

const stepPrefix = "rules.do."

// ByID returns a step. A name that is not in the list is a step for every
// situation by common practice: most steps of a rule are.
func ByID(id string) Step {
	if s, ok := steps[id]; ok {
		s.ID = id
		return s
	}
	return Step{ID: id, Urgency: Today, Known: Practice}
}

// Choose returns those of the steps that are for a situation, in their order.
func Choose(ids []string, s Situation) []Step {
	var out []Step
	for _, id := range ids {
		if x := ByID(id); x.When.Holds(s) {
			out = append(out, x)
		}
	}
	return out
}

// coolArgs are the rates of PlanCooling as its step says them.
func coolArgs() logbook.Args {
	return logbook.Args{"Fast": units.CelsiusDelta(CoolPerHour), "Step": units.CelsiusDelta(CoolPerDay),
		"Near": units.CelsiusDelta(CoolPerDayNear)}
}
