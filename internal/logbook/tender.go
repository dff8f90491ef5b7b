package logbook

import "reddside/internal/civil"

// saidStage is the newest stage that a delivery or a check up to a day says, ""
// when none does.
func (s *Season) saidStage(on civil.Date) Stage {
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

// validateTender asks for the reason why green eggs leave their tank: half of trout
// eggs shocked at 10 to 20 % of the way to hatch died (Crisp 1990, abstract read).
// They are hardy again once eyed (common practice, no source).
func (e *Event) validateTender(s *Season, add func(field, key string, args Args)) {
	if e.Kind == MovedOut && e.Note == "" && !e.On.IsZero() && s.saidStage(e.On) == GreenEgg {
		add("note", "event.tender", nil)
	}
}
