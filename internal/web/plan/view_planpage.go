package plan

import (
	"reddside/internal/web/ui"
)

// PlanPage is the setpoint planner of a season.
type PlanPage struct {
	ui.Page
	Top      ui.SeasonTop
	None     string // why nothing can be planned
	Current  *CurrentPlan
	Action   string
	Form     []ui.FormItem
	Ranges   []ui.Fact // safe range by stage
	Problems ui.Problems
	Result   *PlanAnswer
	EndForm  *ui.FormPage
}

// CurrentPlan is the plan that the season follows.
type CurrentPlan struct {
	Goal  string
	Lag   string
	Steps []PlanStepLine
}

// PlanStepLine is a step of a plan.
type PlanStepLine struct {
	On, Setpoint string
	State        string // done, due or ""
}

// PlanAnswer is what the planner says.
type PlanAnswer struct {
	Headline string
	Refusal  bool
	Lines    []string
	Steps    []PlanStepLine
	Caution  string
	Use      []ui.Option // hidden fields of the form that uses the plan; nil when it cannot be used
}

// stated reports whether any step has a state to show.
func stated(steps []PlanStepLine) bool {
	for _, s := range steps {
		if s.State != "" {
			return true
		}
	}
	return false
}
