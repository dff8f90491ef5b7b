package assess

import (
	"errors"
	"time"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// PlanAsk is a question to the planner.
type PlanAsk struct {
	Goal     logbook.PlanGoal
	By       civil.Date // wanted day of the goal
	MaxStep  units.CelsiusDelta
	Weekends bool // nobody changes a setpoint on weekends
}

// PlanWork is what the planner works with and what it found.
type PlanWork struct {
	Result
	Ask     PlanAsk
	Profile *rules.Profile
	Eggs    forecast.Range
	Alevin  forecast.Range
	Margin  int // days from half to all fry swimming
	In      forecast.PlanInput
	Plan    forecast.PlanResult
}

// Safe is the range in which nothing is raised for a stage.
func (k *PlanWork) Safe(stage logbook.Stage) forecast.Range {
	low, _ := k.Profile.Value(rules.TempWatchLow, k.Season.Lot.Species, stage)
	high, _ := k.Profile.Value(rules.TempWatchHigh, k.Season.Lot.Species, stage)
	return forecast.Range{Min: Celsius(low), Max: Celsius(high)}
}

// LargestStep is the largest change in a day by the programme's limits.
func (k *PlanWork) LargestStep() units.CelsiusDelta {
	v, _ := k.Profile.Value(rules.SetpointStep, k.Season.Lot.Species, "")
	return units.CelsiusDelta(v)
}

// weekendsAlone reports whether the tank is left alone at weekends, by the setting
// of the school or else of the programme.
func (k *PlanWork) weekendsAlone() bool {
	programme, _ := k.Profile.Value(rules.CheckWeekends, k.Season.Lot.Species, "")
	saturday := k.Today.AddDays(int(time.Saturday - k.Today.Weekday()))
	return !k.Season.Site.LooksOn(saturday, programme != 0)
}

// Defaults is what is asked when nobody has asked yet: what the plan in use wants,
// else release on the first day that the permit allows, else swim-up as forecast.
func (k *PlanWork) Defaults() PlanAsk {
	if p := k.Season.Plan; p != nil && p.By.After(k.Today) {
		return PlanAsk{Goal: p.Goal, By: p.By, MaxStep: k.LargestStep(), Weekends: k.weekendsAlone()}
	}
	a := PlanAsk{Goal: logbook.GoalRelease, By: k.Season.ReleaseFrom, MaxStep: k.LargestStep(),
		Weekends: k.weekendsAlone()}
	if a.By.IsZero() {
		a.By = k.Season.ReleaseBy
	}
	if a.By.IsZero() {
		a.Goal, a.By = logbook.GoalSwimUp, k.Forecast.SwimUp.P50
	}
	return a
}

// Work asks the planner. Problems name the fields of the form.
func (k *PlanWork) Work(ask PlanAsk) []logbook.Problem {
	k.Ask = ask
	swimUpBy := ask.By
	if ask.Goal == logbook.GoalRelease {
		swimUpBy = ask.By.AddDays(-k.Margin)
	}
	k.In = forecast.PlanFrom(k.Season, &k.Forecast, swimUpBy, k.Eggs, k.Alevin, ask.MaxStep)
	k.In.Closed = func(d civil.Date) bool {
		weekend := d.Weekday() == time.Saturday || d.Weekday() == time.Sunday
		return ask.Weekends && weekend || k.Season.SchoolClosed(d)
	}
	var err error
	k.Plan, err = forecast.Plan(k.In)
	var e *logbook.Error
	if errors.As(err, &e) {
		for i := range e.Problems {
			p := &e.Problems[i]
			switch p.Field {
			case "max_step_c_per_day":
				p.Field = "max_step"
			case "swim_up_by":
				p.Field = "by"
				if ask.Goal == logbook.GoalRelease && !swimUpBy.After(k.In.On) && ask.By.After(k.In.On) {
					p.Key, p.Args = "plan_page.too_soon", logbook.Args{"Count": k.Margin}
				}
			default:
				p.Field = "by"
			}
		}
		return e.Problems
	}
	return nil
}

// Nearest is the nearest day of the goal that can be reached; zero when none.
func (k *PlanWork) Nearest() civil.Date { return k.GoalDay(k.Plan.Earliest) }

// GoalDay is the day of the goal when half of the fry swim up on a day.
func (k *PlanWork) GoalDay(swimUp civil.Date) civil.Date {
	if k.Ask.Goal == logbook.GoalRelease && !swimUp.IsZero() {
		return swimUp.AddDays(k.Margin)
	}
	return swimUp
}

// Stored is the plan as it is kept.
func (k *PlanWork) Stored() logbook.Plan {
	p := k.Plan.Stored(k.Season, k.In, k.Ask.Goal)
	p.By = k.Ask.By
	return p
}

// Judge refuses a plan that does not reach the wanted day.
func (k *PlanWork) Judge() []logbook.Problem {
	if k.Plan.Reachable {
		p := k.Stored()
		return p.Validate()
	}
	if k.Nearest().IsZero() {
		return []logbook.Problem{{Field: "by", Key: "plan_page.never", Args: logbook.Args{"On": k.Ask.By}}}
	}
	return []logbook.Problem{{Field: "by", Key: "plan_page.refused",
		Args: logbook.Args{"On": k.Ask.By, "Nearest": k.Nearest()}}}
}

// CheckAsk returns what is wrong with a question before it is worked on.
func (k *PlanWork) CheckAsk(a PlanAsk) []logbook.Problem {
	var out []logbook.Problem
	add := func(field, key string, args logbook.Args) {
		out = append(out, logbook.Problem{Field: field, Key: key, Args: args})
	}
	if a.Goal != logbook.GoalRelease && a.Goal != logbook.GoalSwimUp {
		add("goal", "choice.empty", nil)
	}
	switch {
	case a.By.IsZero():
		add("by", "date.empty", nil)
	case !a.By.After(k.Today):
		add("by", "plan.by_after_made", logbook.Args{"On": k.Today})
	case a.By.Sub(k.Today) > logbook.MaxPlanDays/2:
		add("by", "plan_page.far", logbook.Args{"On": a.By})
	}
	const shown = 0.006 // the form shows a step to two decimals
	switch most := k.LargestStep(); {
	case !(a.MaxStep > 0):
		add("max_step", "forecast.plan.step", logbook.Args{"Most": most})
	case a.MaxStep > most+shown:
		add("max_step", "plan_page.step_most", logbook.Args{"Most": most})
	}
	return out
}
