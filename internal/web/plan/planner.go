package plan

import (
	"net/http"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// readPlanAsk reads a question to the planner from a form or an address.
func readPlanAsk(f *form.Form, k *assess.PlanWork, unit units.TemperatureUnit) assess.PlanAsk {
	a := assess.PlanAsk{Goal: logbook.PlanGoal(f.Text("goal")), By: f.Date("by"), Weekends: f.Text("weekends") != ""}
	step, _ := f.Number("max_step").Get()
	if unit == units.DegF {
		step /= 1.8
	}
	a.MaxStep = units.CelsiusDelta(step)
	f.Add(k.CheckAsk(a))
	return a
}

// planForm is a form filled with a question.
func planForm(a assess.PlanAsk, unit units.TemperatureUnit, decimal func(float64) string) *form.Form {
	f := form.NewForm()
	f.Set("goal", string(a.Goal))
	f.Set("by", a.By.String())
	step := float64(a.MaxStep)
	if unit == units.DegF {
		step = a.MaxStep.Fahrenheit()
	}
	f.Set("max_step", decimal(units.Round(step, 2)))
	if a.Weekends {
		f.Set("weekends", "yes")
	}
	return f
}

// planEnd ends the plan that a season follows.
func (s *Service) planEnd(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	if season.Plan == nil {
		return logbook.Missing("plan")
	}
	reason := f.Text("reason")
	switch {
	case reason == "":
		f.Fail("reason", "error.reason", nil)
	case len([]rune(reason)) > 400:
		f.Fail("reason", "entry.too_long", logbook.Args{"Max": 400})
	}
	from := f.Revision()
	if len(f.Problems) > 0 {
		return s.renderPlan(w, r, http.StatusUnprocessableEntity, season, nil, f)
	}
	after, err := s.Assess.FlagsAfter(r.Context(), season, v.Now)
	if err != nil {
		return err
	}
	on := civil.Max(s.Assess.Today(season.Site, v.Now), season.Plan.MadeOn)
	if _, err := s.DB.EndPlan(r.Context(), v.Actor, *season.Plan, from, on, reason, v.Now, after); err != nil {
		return err
	}
	s.SetNotice(r, v.P.T("plan_page.ended"))
	http.Redirect(w, r, ui.SeasonPath(season.ID, ui.PagePlan), http.StatusSeeOther)
	return nil
}
