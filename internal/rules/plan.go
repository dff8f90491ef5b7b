package rules

import (
	"math"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

func planRules() []Rule { return []Rule{planStep(), planBehind()} }

func planStep() Rule {
	return newRule("plan_step", Calendar, logbook.Keeper, today, 7,
		[]string{"caution_electric", "set_chiller", "record_setpoint"}, SetpointStep)
}

func planBehind() Rule {
	return newRule("plan_behind", Calendar, logbook.Keeper, threeDays, 7,
		[]string{"check_setpoint", "second_thermometer", "plan_again"}, PlanLag)
}

// plan raises the step of a setpoint plan that is due, and a tank that falls
// behind its plan.
func (a *assessor) plan() {
	p := a.s.Plan
	if p == nil || p.MadeOn.After(a.today) || (!p.EndedOn.IsZero() && !p.EndedOn.After(a.today)) {
		return
	}
	a.stepDue(p)
	a.behindPlan(p)
}

// sameSetpoint is how near two setpoints are the same: chillers are set to a
// tenth of a degree.
const sameSetpoint = 0.06

// stepDue is raised from the day of a step until a change of setpoint is logged
// on that day or later, or the setpoint is the planned one already. Where steps
// follow day by day the newest counts.
func (a *assessor) stepDue(p *logbook.Plan) {
	var due *logbook.PlanStep
	for i := range p.Steps {
		if !p.Steps[i].On.After(a.today) {
			due = &p.Steps[i]
		}
	}
	if due == nil || !a.lastEvent(logbook.SetpointChange).Before(due.On) {
		return
	}
	if set := a.s.SetpointOn(a.today); set.OK && math.Abs(float64(set.V-due.Setpoint)) < sameSetpoint {
		return
	}
	r := planStep()
	a.raise(r, Flag{Kind: Due, Subject: "setpoint", Since: due.On, Headline: headline(r.ID, "", logbook.Args{
		"On": due.On, "Setpoint": due.Setpoint,
	})})
}

// behindPlan is raised when development is later than planned by more than its
// doubt, and by more than the days that do not matter.
func (a *assessor) behindPlan(p *logbook.Plan) {
	if a.forecast == nil {
		return
	}
	plan := forecast.PlanOf(p)
	days, beyond, ok := plan.Lag(a.windows())
	if !ok || !beyond || days < a.p.any(PlanLag) {
		return
	}
	r := planBehind()
	a.raise(r, Flag{Kind: Watch, Subject: "plan", Since: a.behindSince(p), Headline: headline(r.ID, "", logbook.Args{
		"Count": int(math.Round(days)), "On": p.SwimUpOn,
	})})
}

// behindSince is the first day from which the water stayed colder than planned,
// up to today.
func (a *assessor) behindSince(p *logbook.Plan) civil.Date {
	since := a.today
	for d := a.today; !d.Before(p.MadeOn); d = d.AddDays(-1) {
		want, planned := p.Target(d)
		got := a.forecast.DayOn(d)
		if !planned || got == nil || got.Temperature.Or(units.Celsius(math.Inf(1))) >= want.Temperature {
			break
		}
		since = d
	}
	return since
}
