package web

import (
	"math"
	"net/http"
	"strings"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

const routePlanUse = "POST /seasons/{id}/plan"

// planShow is the planner: what stands in the address is asked, else what is
// wanted of the season by default. It stores nothing.
func (s *Server) planShow(w http.ResponseWriter, r *http.Request) error {
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	var f *form
	if q := r.URL.Query(); q.Get("asked") != "" {
		f = &form{values: q}
	}
	return s.renderPlan(w, r, http.StatusOK, season, f, nil)
}

// planUse stores the plan that the planner found as the one the season follows.
func (s *Server) planUse(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	k, none, err := s.planWork(r.Context(), season, v)
	if err != nil {
		return err
	}
	if none.Key != "" {
		return logbook.Errorf(logbook.Invalid, none.Key, none.Args)
	}
	ask := readPlanAsk(f, k, s.reading(v, season.Site).Unit())
	if len(f.problems) == 0 {
		f.add(k.work(ask))
	}
	if len(f.problems) == 0 {
		f.add(k.judge())
	}
	if len(f.problems) > 0 {
		return s.renderPlan(w, r, http.StatusUnprocessableEntity, season, f, nil)
	}
	after, err := s.FlagsAfter(r.Context(), season, v.now)
	if err != nil {
		return err
	}
	print, err := fingerprint(strings.Join([]string{ask.by.String(), string(ask.goal), f.text("max_step"), f.text("weekends")}, " "))
	if err != nil {
		return err
	}
	once := store.Once{Key: formKey(f.text("key")), Route: routePlanUse, Fingerprint: print}
	_, err = s.db.UsePlan(r.Context(), v.actor, k.stored(), v.p.T("plan_page.replaced"), v.now, store.Write{Once: once, After: after})
	if isMismatch(err) { // the form came back with other wishes: ask again with a fresh key
		f.set("key", "")
		return s.renderPlan(w, r, http.StatusConflict, season, f, nil)
	}
	if err != nil {
		return err
	}
	s.setNotice(r, v.p.T("plan_page.used"))
	http.Redirect(w, r, "/seasons/"+string(season.ID)+pagePlan, http.StatusSeeOther)
	return nil
}

// renderPlan shows the planner with what was asked (nil: the default) and, after
// a refused ending, the form that ends a plan.
func (s *Server) renderPlan(w http.ResponseWriter, r *http.Request, status int, season *logbook.Season, asked, end *form) error {
	v := visitOf(r)
	page, top := s.seasonPage(r, season, "plan_page.title", pagePlan)
	p := page.P
	m := view.PlanPage{Page: page, Top: top, Action: top.TankHref + pagePlan}
	k, none, err := s.planWork(r.Context(), season, v)
	if err != nil {
		return err
	}
	m.Current = currentPlan(p, k)
	if m.Current != nil {
		m.EndForm = s.planEndForm(p, m.Action, season, end)
	}
	if end != nil {
		m.Problems = showProblems(p, end.problems, func(field string) string { return p.T("plan_field." + field) })
		m.EndForm.Page, m.EndForm.Problems = page, m.Problems
	} else if m.EndForm != nil {
		m.EndForm.Page = page
	}
	if none.Key != "" {
		m.None = p.T(none.Key, none.Args)
		return s.render(w, r, status, view.PlanPageView(m))
	}
	f := asked
	if f == nil {
		f = planForm(k.defaults(), p.Unit(), func(x float64) string { return typed(p, x) })
	}
	found := len(f.problems)
	ask := readPlanAsk(f, k, p.Unit())
	if found > 0 {
		f.problems = f.problems[:found] // read once already
	} else if len(f.problems) == 0 {
		f.add(k.work(ask))
	}
	if len(f.problems) == 0 {
		m.Result = planAnswer(p, k)
		if m.Result.Use = nil; k.plan.Reachable {
			m.Result.Use = []view.Option{{Value: "goal", Label: f.raw("goal")}, {Value: "by", Label: f.raw("by")},
				{Value: "max_step", Label: f.raw("max_step")}, {Value: "weekends", Label: f.raw("weekends")},
				{Value: "key", Label: string(logbook.NewID())}}
		}
	}
	if asked != nil {
		m.Problems = showProblems(p, f.problems, func(field string) string { return p.T("plan_field."+field, logbook.Args{"Unit": p.UnitSymbol()}) })
		m.Error = len(m.Problems) > 0
		if m.Error && status == http.StatusOK {
			status = http.StatusUnprocessableEntity
		}
	}
	m.Form, m.Ranges = s.planItems(p, f), planRanges(p, k)
	return s.render(w, r, status, view.PlanPageView(m))
}

func (s *Server) planItems(p *i18n.Printer, f *form) []view.FormItem {
	b := formItems(s.cat, p, "plan_field")
	b.tiles("goal", f.raw("goal"), keyedOptions(p, logbook.PlanGoals()))
	b.date("by", f.raw("by"), false)
	b.number("max_step", f.raw("max_step"), "decimal", false, map[string]any{"Unit": p.UnitSymbol()})
	b.tick("weekends", f.raw("weekends") != "")
	return b.list
}

func (s *Server) planEndForm(p *i18n.Printer, action string, season *logbook.Season, f *form) *view.FormPage {
	b := formItems(s.cat, p, "plan_field")
	reason := ""
	if f != nil {
		reason = f.raw("reason")
	}
	b.text("reason", reason)
	return &view.FormPage{Action: action + "/end", Submit: p.T("plan_page.end_submit"), Items: b.list,
		Hidden: []view.Option{{Value: "revision", Label: typedInt(season.Plan.Revision)}}}
}

func planRanges(p *i18n.Printer, k *planWork) []view.Fact {
	var out []view.Fact
	for _, x := range []struct {
		stage logbook.Stage
		safe  forecast.Range
	}{{logbook.EyedEgg, k.eggs}, {logbook.Alevin, k.alevin}} {
		out = append(out, view.Fact{Label: p.T(x.stage.MessageKey()), Value: p.T("how.range_of", logbook.Args{"Low": x.safe.Min, "High": x.safe.Max})})
	}
	return out
}

// planAnswer writes what the planner found.
func planAnswer(p *i18n.Printer, k *planWork) *view.PlanAnswer {
	r := &k.plan
	day := func(d civil.Date) string {
		if d.IsZero() {
			return p.T("plan_page.no_day")
		}
		return p.DateWeekday(d)
	}
	args := logbook.Args{"Goal": k.ask.goal, "By": p.DateWeekday(k.ask.by), "Setpoint": r.Setpoint, "Swim": day(r.P50), "Day": day(k.goalDay(r.P50)),
		"Earliest": day(k.nearest()), "Latest": day(k.goalDay(r.Latest)), "Unchanged": day(k.goalDay(k.Forecast.SwimUp.P50)),
		"Now": k.in.Now, "Days": p.Num(math.Abs(r.DaysPerHalfDegree), 1), "Half": p.TempDelta(0.5)}
	out := &view.PlanAnswer{Caution: p.T("plan_page.caution")}
	switch {
	case !r.Reachable && k.nearest().IsZero():
		out.Refusal, out.Headline = true, p.T("plan_page.never", logbook.Args{"On": p.DateWeekday(k.ask.by)})
	case !r.Reachable:
		out.Refusal, out.Headline = true, p.T("plan_page.refused", logbook.Args{"On": p.DateWeekday(k.ask.by), "Nearest": day(k.nearest())})
		out.Lines = append(out.Lines, p.T("plan_page.fastest", args))
	case len(r.Steps) == 0:
		out.Headline = p.T("plan_page.keep", args)
	default:
		out.Headline = p.T("plan_page.set", args)
	}
	if r.Reachable {
		out.Lines = append(out.Lines, p.T("plan_page.half", args))
		if k.ask.goal == logbook.GoalRelease {
			out.Lines = append(out.Lines, p.T("plan_page.release", logbook.Args{"Count": k.margin, "Day": day(k.goalDay(r.P50))}))
		}
		if latest := k.goalDay(r.Latest); !latest.IsZero() && latest.Before(k.ask.by) {
			out.Lines = append(out.Lines, p.T("plan_page.early", args))
		}
	}
	out.Lines = append(out.Lines, p.T("plan_page.reach", args))
	if r.DaysPerHalfDegree != 0 {
		out.Lines = append(out.Lines, p.T("plan_page.half_degree", args))
	}
	out.Lines = append(out.Lines, p.T("plan_page.unchanged", args))
	for _, st := range r.Steps {
		out.Steps = append(out.Steps, view.PlanStepLine{On: p.DateWeekday(st.On), Setpoint: p.Temp(st.Setpoint)})
	}
	return out
}

// currentPlan writes the plan that the season follows, and how the tank keeps to
// it; nil when there is none.
func currentPlan(p *i18n.Printer, k *planWork) *view.CurrentPlan {
	plan := k.Season.Plan
	if plan == nil {
		return nil
	}
	out := &view.CurrentPlan{Goal: p.T("plan_page.current_goal", logbook.Args{"Goal": plan.Goal, "By": p.DateWeekday(plan.By),
		"Made": p.DateWeekday(plan.MadeOn), "Swim": p.DateWeekday(plan.SwimUpOn)})}
	stored := forecast.PlanOf(plan)
	if days, beyond, ok := stored.Lag(&k.Forecast); ok {
		n := int(math.Round(math.Abs(days)))
		key := "plan_page.on_time"
		switch {
		case n == 0:
		case days > 0 && beyond:
			key = "plan_page.behind"
		case days > 0:
			key = "plan_page.behind_doubt"
		case days < 0:
			key = "plan_page.ahead"
		}
		out.Lag = p.T(key, logbook.Args{"Count": n})
	}
	due := false
	for i := range k.Assessment.Flags {
		due = due || k.Assessment.Flags[i].Rule == "plan_step"
	}
	for i, st := range plan.Steps {
		line := view.PlanStepLine{On: p.DateWeekday(st.On), Setpoint: p.Temp(st.Setpoint), State: p.T("plan_page.step_ahead")}
		newest := i+1 == len(plan.Steps) || plan.Steps[i+1].On.After(k.Today)
		switch {
		case st.On.After(k.Today):
		case due && newest:
			line.State = p.T("plan_page.step_due")
		default:
			line.State = p.T("plan_page.step_past")
		}
		out.Steps = append(out.Steps, line)
	}
	return out
}
