package logbook

import "reddside/internal/civil"

// SaidStage is the newest stage that a delivery or a check up to a day says, ""
// when none does.
func (s *Season) SaidStage(on civil.Date) Stage {
	var last civil.Date
	var stage Stage
	take := func(d civil.Date, said Stage) {
		if said != "" && !d.After(on) && !d.Before(last) {
			last, stage = d, said
		}
	}
	for i := range s.Deliveries {
		take(s.Deliveries[i].On, s.Deliveries[i].Stage)
	}
	for i := range s.Checks {
		take(s.Checks[i].On, s.Checks[i].Stage)
	}
	return stage
}
