package forecast

import "reddside/internal/logbook"

// PlanOf makes a stored plan comparable with a forecast again; see Lag.
func PlanOf(p *logbook.Plan) PlanResult {
	out := PlanResult{P50: p.SwimUpOn, Days: make([]PlanDay, len(p.Targets))}
	for i, t := range p.Targets {
		out.Days[i] = PlanDay{On: p.MadeOn.AddDays(i), Temperature: t.Temperature, Index: t.Index}
	}
	for _, s := range p.Steps {
		out.Steps = append(out.Steps, PlanStep(s))
	}
	return out
}

// Stored is the plan as it is stored with its season.
func (p *PlanResult) Stored(s *logbook.Season, in PlanInput, goal logbook.PlanGoal) logbook.Plan {
	out := logbook.Plan{SeasonID: s.ID, MadeOn: in.On, Goal: goal, By: in.By, SwimUpOn: p.P50}
	for _, d := range p.Days {
		out.Targets = append(out.Targets, logbook.PlanTarget{Temperature: d.Temperature, Index: d.Index})
	}
	for _, st := range p.Steps {
		out.Steps = append(out.Steps, logbook.PlanStep(st))
	}
	return out
}
