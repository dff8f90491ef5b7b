package web

import (
	"context"
	"errors"
	"net/http"
	"time"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// planAsk is a question to the planner.
type planAsk struct {
	goal     logbook.PlanGoal
	by       civil.Date // wanted day of the goal
	maxStep  units.CelsiusDelta
	weekends bool // nobody changes a setpoint on weekends
}

// planWork is what the planner works with and what it found.
type planWork struct {
	assessed
	ask     planAsk
	profile *rules.Profile
	eggs    forecast.Range
	alevin  forecast.Range
	margin  int // days from half to all fry swimming
	in      forecast.PlanInput
	plan    forecast.PlanResult
}

// planWork loads what a plan of a season starts from. none is the key of why
// nothing can be planned.
func (s *Server) planWork(ctx context.Context, season *logbook.Season, v *visit) (k *planWork, none logbook.Problem, err error) {
	k = &planWork{}
	if k.assessed, err = s.assess(ctx, season, v.now); err != nil {
		return nil, none, err
	}
	if k.profile, err = s.profile(ctx); err != nil {
		return nil, none, err
	}
	f := &k.Forecast
	switch {
	case !season.ClosedOn.IsZero() && !k.Today.Before(season.ClosedOn):
		none.Key, none.Args = "tank.ended", logbook.Args{"On": season.ClosedOn}
	case !f.Ok():
		none.Key, none.Args = f.Reason, f.Args
	case f.SwimUp.BeforeStart || !f.SwimUp.Observed.IsZero():
		none.Key = "forecast.plan.already"
	}
	k.eggs, k.alevin = k.safe(logbook.EyedEgg), k.safe(logbook.Alevin)
	if f.SwimUp.Ok() && !f.SwimUp.Last.IsZero() {
		k.margin = max(0, f.SwimUp.Last.Sub(f.SwimUp.P50))
	}
	return k, none, nil
}

// safe is the range in which nothing is raised for a stage.
func (k *planWork) safe(stage logbook.Stage) forecast.Range {
	low, _ := k.profile.Value(rules.TempWatchLow, k.Season.Lot.Species, stage)
	high, _ := k.profile.Value(rules.TempWatchHigh, k.Season.Lot.Species, stage)
	return forecast.Range{Min: celsius(low), Max: celsius(high)}
}

// largestStep is the largest change in a day by the programme's limits.
func (k *planWork) largestStep() units.CelsiusDelta {
	v, _ := k.profile.Value(rules.SetpointStep, k.Season.Lot.Species, "")
	return units.CelsiusDelta(v)
}

// weekendsAlone reports whether the tank is left alone at weekends, by the setting
// of the school or else of the programme.
func (k *planWork) weekendsAlone() bool {
	programme, _ := k.profile.Value(rules.CheckWeekends, k.Season.Lot.Species, "")
	saturday := k.Today.AddDays(int(time.Saturday - k.Today.Weekday()))
	return !k.Season.Site.LooksOn(saturday, programme != 0)
}

// defaults is what is asked when nobody has asked yet: what the plan in use wants,
// else release on the first day that the permit allows, else swim-up as forecast.
func (k *planWork) defaults() planAsk {
	if p := k.Season.Plan; p != nil && p.By.After(k.Today) {
		return planAsk{goal: p.Goal, by: p.By, maxStep: k.largestStep(), weekends: k.weekendsAlone()}
	}
	a := planAsk{goal: logbook.GoalRelease, by: k.Season.ReleaseFrom, maxStep: k.largestStep(), weekends: k.weekendsAlone()}
	if a.by.IsZero() {
		a.by = k.Season.ReleaseBy
	}
	if a.by.IsZero() {
		a.goal, a.by = logbook.GoalSwimUp, k.Forecast.SwimUp.P50
	}
	return a
}

// work asks the planner. Problems name the fields of the form.
func (k *planWork) work(ask planAsk) []logbook.Problem {
	k.ask = ask
	swimUpBy := ask.by
	if ask.goal == logbook.GoalRelease {
		swimUpBy = ask.by.AddDays(-k.margin)
	}
	k.in = forecast.PlanFrom(k.Season, &k.Forecast, swimUpBy, k.eggs, k.alevin, ask.maxStep)
	k.in.Closed = func(d civil.Date) bool {
		weekend := d.Weekday() == time.Saturday || d.Weekday() == time.Sunday
		return ask.weekends && weekend || k.Season.SchoolClosed(d)
	}
	var err error
	k.plan, err = forecast.Plan(k.in)
	var e *logbook.Error
	if errors.As(err, &e) {
		for i := range e.Problems {
			p := &e.Problems[i]
			switch p.Field {
			case "max_step_c_per_day":
				p.Field = "max_step"
			case "swim_up_by":
				p.Field = "by"
				if ask.goal == logbook.GoalRelease && !swimUpBy.After(k.in.On) && ask.by.After(k.in.On) {
					p.Key, p.Args = "plan_page.too_soon", logbook.Args{"Count": k.margin}
				}
			default:
				p.Field = "by"
			}
		}
		return e.Problems
	}
	return nil
}

// nearest is the nearest day of the goal that can be reached; zero when none.
func (k *planWork) nearest() civil.Date { return k.goalDay(k.plan.Earliest) }

// goalDay is the day of the goal when half of the fry swim up on a day.
func (k *planWork) goalDay(swimUp civil.Date) civil.Date {
	if k.ask.goal == logbook.GoalRelease && !swimUp.IsZero() {
		return swimUp.AddDays(k.margin)
	}
	return swimUp
}

// stored is the plan as it is kept.
func (k *planWork) stored() logbook.Plan {
	p := k.plan.Stored(k.Season, k.in, k.ask.goal)
	p.By = k.ask.by
	return p
}

// judge refuses a plan that does not reach the wanted day.
func (k *planWork) judge() []logbook.Problem {
	if k.plan.Reachable {
		p := k.stored()
		return p.Validate()
	}
	if k.nearest().IsZero() {
		return []logbook.Problem{{Field: "by", Key: "plan_page.never", Args: logbook.Args{"On": k.ask.by}}}
	}
	return []logbook.Problem{{Field: "by", Key: "plan_page.refused", Args: logbook.Args{"On": k.ask.by, "Nearest": k.nearest()}}}
}

// readPlanAsk reads a question to the planner from a form or an address.
func readPlanAsk(f *form, k *planWork, unit units.TemperatureUnit) planAsk {
	a := planAsk{goal: logbook.PlanGoal(f.text("goal")), by: f.date("by"), weekends: f.text("weekends") != ""}
	step, _ := f.number("max_step").Get()
	if unit == units.DegF {
		step /= 1.8
	}
	a.maxStep = units.CelsiusDelta(step)
	f.add(k.checkAsk(a))
	return a
}

// checkAsk returns what is wrong with a question before it is worked on.
func (k *planWork) checkAsk(a planAsk) []logbook.Problem {
	var out []logbook.Problem
	add := func(field, key string, args logbook.Args) {
		out = append(out, logbook.Problem{Field: field, Key: key, Args: args})
	}
	if a.goal != logbook.GoalRelease && a.goal != logbook.GoalSwimUp {
		add("goal", "choice.empty", nil)
	}
	switch {
	case a.by.IsZero():
		add("by", "date.empty", nil)
	case !a.by.After(k.Today):
		add("by", "plan.by_after_made", logbook.Args{"On": k.Today})
	case a.by.Sub(k.Today) > logbook.MaxPlanDays/2:
		add("by", "plan_page.far", logbook.Args{"On": a.by})
	}
	const shown = 0.006 // the form shows a step to two decimals
	switch most := k.largestStep(); {
	case !(a.maxStep > 0):
		add("max_step", "forecast.plan.step", logbook.Args{"Most": most})
	case a.maxStep > most+shown:
		add("max_step", "plan_page.step_most", logbook.Args{"Most": most})
	}
	return out
}

// planForm is a form filled with a question.
func planForm(a planAsk, unit units.TemperatureUnit, decimal func(float64) string) *form {
	f := newForm()
	f.set("goal", string(a.goal))
	f.set("by", a.by.String())
	step := float64(a.maxStep)
	if unit == units.DegF {
		step = a.maxStep.Fahrenheit()
	}
	f.set("max_step", decimal(units.Round(step, 2)))
	if a.weekends {
		f.set("weekends", "yes")
	}
	return f
}

// planEnd ends the plan that a season follows.
func (s *Server) planEnd(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	if season.Plan == nil {
		return logbook.Missing("plan")
	}
	reason := f.text("reason")
	switch {
	case reason == "":
		f.fail("reason", "error.reason", nil)
	case len([]rune(reason)) > 400:
		f.fail("reason", "entry.too_long", logbook.Args{"Max": 400})
	}
	from := f.revision()
	if len(f.problems) > 0 {
		return s.renderPlan(w, r, http.StatusUnprocessableEntity, season, nil, f)
	}
	after, err := s.FlagsAfter(r.Context(), season, v.now)
	if err != nil {
		return err
	}
	on := civil.Max(s.today(season.Site, v.now), season.Plan.MadeOn)
	if _, err := s.db.EndPlan(r.Context(), v.actor, *season.Plan, from, on, reason, v.now, after); err != nil {
		return err
	}
	s.setNotice(r, v.p.T("plan_page.ended"))
	http.Redirect(w, r, "/seasons/"+string(season.ID)+pagePlan, http.StatusSeeOther)
	return nil
}
