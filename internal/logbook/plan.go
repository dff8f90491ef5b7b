package logbook

import (
	"strings"
	"unicode/utf8"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// PlanGoal is the event that a setpoint plan is made for.
type PlanGoal string

// The goals of a plan.
const (
	GoalSwimUp  PlanGoal = "swim_up"
	GoalRelease PlanGoal = "release"
)

// PlanGoals lists the goals.
func PlanGoals() []PlanGoal { return []PlanGoal{GoalRelease, GoalSwimUp} }

// MessageKey returns the catalogue key of the goal.
func (g PlanGoal) MessageKey() string { return "plan_goal." + string(g) }

// Plan is a setpoint plan that a season follows: what to set on which day, and
// what the tank should be like on each day from MadeOn, to be held against what
// it is.
type Plan struct {
	ID       ID
	SeasonID ID
	MadeOn   civil.Date // day of the state from which the plan starts
	Goal     PlanGoal
	By       civil.Date // wanted day of the goal
	SwimUpOn civil.Date // day on which half of the fry swim up by the plan
	Steps    []PlanStep
	Targets  []PlanTarget // one for each day from MadeOn on
	EndedOn  civil.Date   // zero while the plan is followed
	Entry
}

// PlanStep is a setpoint to set on a day.
type PlanStep struct {
	On       civil.Date
	Setpoint units.Celsius
}

// PlanTarget is what the water and the development index should be at the end
// of a day.
type PlanTarget struct {
	Temperature units.Celsius
	Index       float64
}

// MaxPlanDays bounds the days of a plan; a longer one is a wrong year.
const MaxPlanDays = 1500

// Target returns what the plan wants of a day; ok is false outside the plan.
func (p *Plan) Target(on civil.Date) (t PlanTarget, ok bool) {
	if i := on.Sub(p.MadeOn); i >= 0 && i < len(p.Targets) {
		return p.Targets[i], true
	}
	return t, false
}

// Validate returns what is wrong with the plan.
func (p *Plan) Validate() []Problem {
	var out []Problem
	add := func(field, key string, args Args) { out = append(out, Problem{Field: field, Key: key, Args: args}) }
	if p.Goal != GoalSwimUp && p.Goal != GoalRelease {
		add("goal", "choice.unknown", nil)
	}
	switch {
	case p.MadeOn.IsZero():
		add("made_on", "date.empty", nil)
	case p.By.IsZero():
		add("by", "date.empty", nil)
	case !p.By.After(p.MadeOn):
		add("by", "plan.by_after_made", Args{"On": p.MadeOn})
	}
	out = append(out, wrongYear("made_on", p.MadeOn)...)
	out = append(out, wrongYear("by", p.By)...)
	out = append(out, wrongYear("ended_on", p.EndedOn)...)
	if n := len(p.Targets); n < 2 || n > MaxPlanDays {
		add("targets", "plan.targets", nil)
	}
	for _, t := range p.Targets {
		if !units.Finite(t.Temperature) || t.Temperature < MinWater || t.Temperature > MaxWater ||
			!units.Finite(t.Index) || t.Index < 0 {
			add("targets", "plan.targets", nil)
			break
		}
	}
	if len(p.Steps) > MaxPlanDays {
		add("steps", "plan.targets", nil)
	}
	last := p.MadeOn
	for _, s := range p.Steps {
		if !s.On.After(last) {
			add("steps", "plan.steps_order", nil)
			break
		}
		if !units.Finite(s.Setpoint) || s.Setpoint < 0 || s.Setpoint > 20 {
			add("steps", "temperature.between", Args{"Min": units.Celsius(0), "Max": units.Celsius(20)})
			break
		}
		last = s.On
	}
	if !p.EndedOn.IsZero() && p.EndedOn.Before(p.MadeOn) {
		add("ended_on", "date.range", nil)
	}
	return out
}

// Guess is the day on which a group of a class thinks that half of the eggs will
// have hatched. A group is a label like "Group 3", never a name.
type Guess struct {
	ID       ID
	SeasonID ID
	Group    string
	On       civil.Date // the day guessed
	MadeOn   civil.Date // the day of the guess
	Entry
}

// MaxGroup bounds the label of a group, in characters. It is short, so that there
// is room for a group and not for names.
const MaxGroup = 24

// GroupKey tells groups apart whatever the case and spaces of their labels.
func GroupKey(label string) string {
	return strings.ToLower(strings.Join(strings.Fields(label), " "))
}

// Validate returns what is wrong with a guess for a season.
func (g *Guess) Validate(s *Season) []Problem {
	var out []Problem
	add := func(field, key string, args Args) { out = append(out, Problem{Field: field, Key: key, Args: args}) }
	switch n := utf8.RuneCountInString(strings.TrimSpace(g.Group)); {
	case n == 0:
		add("group", "guess.group_empty", nil)
	case n > MaxGroup:
		add("group", "entry.too_long", Args{"Max": MaxGroup})
	}
	start := s.StartedOn()
	const longest = 400 // days from the guess; a later day is a wrong year
	switch {
	case g.On.IsZero():
		add("on", "date.empty", nil)
	case wrongYear("on", g.On) != nil:
		out = append(out, wrongYear("on", g.On)...)
	case start.IsZero():
		add("on", "check.no_delivery", nil)
	case g.On.Before(start):
		add("on", "date.before_delivery", Args{"On": g.On, "Start": start})
	case g.On.Before(g.MadeOn):
		add("on", "guess.past", Args{"On": g.On, "Today": g.MadeOn})
	case g.On.Sub(g.MadeOn) > longest:
		add("on", "guess.far", Args{"On": g.On})
	}
	return out
}
