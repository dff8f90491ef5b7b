package plan

import (
	"math"
	"net/http"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/entries"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

const routePlanUse = "POST /seasons/{id}/plan"

// planShow is the planner: what stands in the address is asked, else what is
// wanted of the season by default. It stores nothing.
func (s *Service) planShow(w http.ResponseWriter, r *http.Request) error {
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	var f *form.Form
	if q := r.URL.Query(); q.Get("asked") != "" {
		f = &form.Form{Values: q}
	}
	return s.renderPlan(w, r, http.StatusOK, season, f, nil)
}

// planUse stores the plan that the planner found as the one the season follows.
func (s *Service) planUse(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	k, none, err := s.PlanWork(r.Context(), season, v)
	if err != nil {
		return err
	}
	if none.Key != "" {
		return logbook.Errorf(logbook.Invalid, none.Key, none.Args)
	}
	ask := readPlanAsk(f, k, v.P.Unit())
	if len(f.Problems) == 0 {
		f.Add(k.Work(ask))
	}
	if len(f.Problems) == 0 {
		f.Add(k.Judge())
	}
	if len(f.Problems) > 0 {
		return s.renderPlan(w, r, http.StatusUnprocessableEntity, season, f, nil)
	}
	after, err := s.Assess.FlagsAfter(r.Context(), season, v.Now)
	if err != nil {
		return err
	}
	wishes := []string{ask.By.String(), string(ask.Goal), f.Text("max_step"), f.Text("weekends")}
	once, err := store.NewIdempotencyKey(form.FormKey(f.Text("key")), routePlanUse, wishes)
	if err != nil {
		return err
	}
	_, err = s.DB.UsePlan(r.Context(), v.Actor, k.Stored(), v.P.T("plan_page.replaced"), v.Now,
		store.Write{Once: once, After: after})
	if entries.IsMismatch(err) { // the form came back with other wishes: ask again with a fresh key
		f.Set("key", "")
		return s.renderPlan(w, r, http.StatusConflict, season, f, nil)
	}
	if err != nil {
		return err
	}
	s.SetNotice(r, v.P.T("plan_page.used"))
	http.Redirect(w, r, ui.SeasonPath(season.ID, ui.PagePlan), http.StatusSeeOther)
	return nil
}

// renderPlan shows the planner with what was asked (nil: the default) and, after
// a refused ending, the form that ends a plan.
func (s *Service) renderPlan(w http.ResponseWriter, r *http.Request, status int, season *logbook.Season, asked,
	end *form.Form) error {
	v := req.Of(r)
	page, top := s.SeasonPage(r, season, "plan_page.title", ui.PagePlan)
	p := page.P
	m := PlanPage{Page: page, Top: top, Action: top.TankHref + ui.PagePlan}
	k, none, err := s.PlanWork(r.Context(), season, v)
	if err != nil {
		return err
	}
	m.Current = currentPlanView(p, k)
	if m.Current != nil {
		m.EndForm = s.planEndForm(p, m.Action, season, end)
	}
	if end != nil {
		m.Problems = form.ShowProblems(p, end.Problems, func(field string) string { return p.T("plan_field." + field) })
		m.EndForm.Page, m.EndForm.Problems = page, m.Problems
	} else if m.EndForm != nil {
		m.EndForm.Page = page
	}
	if none.Key != "" {
		m.None = p.T(none.Key, none.Args)
		return s.Render(w, r, status, PlanPageView(m))
	}
	f := asked
	if f == nil {
		f = planForm(k.Defaults(), p.Unit(), func(x float64) string { return words.Typed(p, x) })
	}
	found := len(f.Problems)
	ask := readPlanAsk(f, k, p.Unit())
	if found > 0 {
		f.Problems = f.Problems[:found] // read once already
	} else if len(f.Problems) == 0 {
		f.Add(k.Work(ask))
	}
	if len(f.Problems) == 0 {
		m.Result = planAnswerView(p, k)
		if m.Result.Use = nil; k.Plan.Reachable {
			m.Result.Use = []ui.Option{{Value: "goal", Label: f.Raw("goal")}, {Value: "by", Label: f.Raw("by")},
				{Value: "max_step", Label: f.Raw("max_step")}, {Value: "weekends", Label: f.Raw("weekends")},
				{Value: "key", Label: string(logbook.NewID())}}
		}
	}
	if asked != nil {
		m.Problems = form.ShowProblems(p, f.Problems,
			func(field string) string { return p.T("plan_field."+field, logbook.Args{"Unit": p.UnitSymbol()}) })
		m.Error = len(m.Problems) > 0
		if m.Error && status == http.StatusOK {
			status = http.StatusUnprocessableEntity
		}
	}
	m.Form, m.Ranges = s.planItems(p, f), planRanges(p, k)
	return s.Render(w, r, status, PlanPageView(m))
}

func (s *Service) planItems(p *i18n.Printer, f *form.Form) []ui.FormItem {
	b := form.FormItems(s.Cat, p, "plan_field")
	b.Tiles("goal", f.Raw("goal"), words.KeyedOptions(p, logbook.PlanGoals()))
	b.Date("by", f.Raw("by"), false)
	b.Number("max_step", f.Raw("max_step"), "decimal", false, map[string]any{"Unit": p.UnitSymbol()})
	b.Tick("weekends", f.Raw("weekends") != "")
	return b.List
}

func (s *Service) planEndForm(p *i18n.Printer, action string, season *logbook.Season, f *form.Form) *ui.FormPage {
	b := form.FormItems(s.Cat, p, "plan_field")
	reason := ""
	if f != nil {
		reason = f.Raw("reason")
	}
	b.Text("reason", reason)
	return &ui.FormPage{Action: action + "/end", Submit: p.T("plan_page.end_submit"), Items: b.List,
		Hidden: []ui.Option{{Value: "revision", Label: typedInt(season.Plan.Revision)}}}
}

func planRanges(p *i18n.Printer, k *assess.PlanWork) []ui.Fact {
	var out []ui.Fact
	for _, x := range []struct {
		stage logbook.Stage
		safe  forecast.Range
	}{{logbook.EyedEgg, k.Eggs}, {logbook.Alevin, k.Alevin}} {
		out = append(out, ui.Fact{Label: p.T(x.stage.MessageKey()),
			Value: p.T("how.range_of", logbook.Args{"Low": x.safe.Min, "High": x.safe.Max})})
	}
	return out
}

// planAnswerView writes what the planner found.
func planAnswerView(p *i18n.Printer, k *assess.PlanWork) *PlanAnswer {
	r := &k.Plan
	day := func(d civil.Date) string {
		if d.IsZero() {
			return p.T("plan_page.no_day")
		}
		return p.DateWeekday(d)
	}
	args := logbook.Args{"Goal": k.Ask.Goal, "By": p.DateWeekday(k.Ask.By), "Setpoint": r.Setpoint, "Swim": day(r.P50),
		"Day":      day(k.GoalDay(r.P50)),
		"Earliest": day(k.Nearest()), "Latest": day(k.GoalDay(r.Latest)),
		"Unchanged": day(k.GoalDay(k.Forecast.SwimUp.P50)),
		"Now":       k.In.Now, "Days": p.Num(math.Abs(r.DaysPerHalfDegree), 1), "Half": p.TempDelta(0.5)}
	out := &PlanAnswer{Caution: p.T("plan_page.caution")}
	switch {
	case !r.Reachable && k.Nearest().IsZero():
		out.Refusal, out.Headline = true, p.T("plan_page.never", logbook.Args{"On": p.DateWeekday(k.Ask.By)})
	case !r.Reachable:
		out.Refusal, out.Headline = true,
			p.T("plan_page.refused", logbook.Args{"On": p.DateWeekday(k.Ask.By), "Nearest": day(k.Nearest())})
		out.Lines = append(out.Lines, p.T("plan_page.fastest", args))
	case len(r.Steps) == 0:
		out.Headline = p.T("plan_page.keep", args)
	default:
		out.Headline = p.T("plan_page.set", args)
	}
	if r.Reachable {
		out.Lines = append(out.Lines, p.T("plan_page.half", args))
		if k.Ask.Goal == logbook.GoalRelease {
			out.Lines = append(out.Lines,
				p.T("plan_page.release", logbook.Args{"Count": k.Margin, "Day": day(k.GoalDay(r.P50))}))
		}
		if latest := k.GoalDay(r.Latest); !latest.IsZero() && latest.Before(k.Ask.By) {
			out.Lines = append(out.Lines, p.T("plan_page.early", args))
		}
	}
	out.Lines = append(out.Lines, p.T("plan_page.reach", args))
	if r.DaysPerHalfDegree != 0 {
		out.Lines = append(out.Lines, p.T("plan_page.half_degree", args))
	}
	out.Lines = append(out.Lines, p.T("plan_page.unchanged", args))
	for _, st := range r.Steps {
		out.Steps = append(out.Steps, PlanStepLine{On: p.DateWeekday(st.On), Setpoint: p.Temp(st.Setpoint)})
	}
	return out
}

// currentPlanView writes the plan that the season follows, and how the tank keeps to
// it; nil when there is none.
func currentPlanView(p *i18n.Printer, k *assess.PlanWork) *CurrentPlan {
	plan := k.Season.Plan
	if plan == nil {
		return nil
	}
	out := &CurrentPlan{Goal: p.T("plan_page.current_goal",
		logbook.Args{"Goal": plan.Goal, "By": p.DateWeekday(plan.By),
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
		line := PlanStepLine{On: p.DateWeekday(st.On), Setpoint: p.Temp(st.Setpoint),
			State: p.T("plan_page.step_ahead")}
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
