package report

import (
	"encoding/json"

	"reddside/internal/logbook"
)

// The tables beside the log: what releases were like, plans and guesses.

func planTable(id, season Column) *Table {
	return &Table{Name: "plans", About: "Setpoint plans.", Refs: []Ref{{"season_id", "seasons"}},
		Columns: append([]Column{id, season,
			{"made_on", Day, "day of the state it starts from", "", ""}, {"goal", Text, "swim_up or release", "", ""},
			{"wanted_on", Day, "wanted day of the goal", "", ""}, {"swim_up_on", Day, "swim-up by the plan", "", ""},
			{"steps", List, "[[day, setpoint in Cel], ...]", "", ""},
			{"targets", List, "[[mean in Cel, development index], ...] of each day from made_on", "", ""},
			{"ended_on", Day, "day on which it was given up", "", ""}}, entryColumns()...)}
}

func guessTable(id, season Column) *Table {
	return &Table{Name: "guesses", About: "Guesses of groups: when half will have hatched.",
		Refs: []Ref{{"season_id", "seasons"}}, Columns: append([]Column{id, season,
			{"group", Text, "group; never a name", "", ""}, {"on", Day, "guessed day", "", ""},
			{"made_on", Day, "day of the guess", "", ""}}, entryColumns()...)}
}

func (e *Export) more(s *logbook.Season, voided Voided) error {
	for _, list := range [][]logbook.ReleaseRecord{s.Releases, voided.Releases} {
		for i := range list {
			r := &list[i]
			if err := addEntry(e.releases, r.ID, s.ID, logbook.ReleaseFields(), r, &r.Entry); err != nil {
				return err
			}
		}
	}
	plans := voided.Plans
	if s.Plan != nil {
		plans = append([]logbook.Plan{*s.Plan}, plans...)
	}
	for i := range plans {
		if err := e.plan(s.ID, &plans[i]); err != nil {
			return err
		}
	}
	for _, list := range [][]logbook.Guess{s.Guesses, voided.Guesses} {
		for i := range list {
			g := &list[i]
			if err := e.guesses.Add(append([]any{string(g.ID), string(s.ID), g.Group, g.On, g.MadeOn},
				entryCells(&g.Entry)...)...); err != nil {
				return err
			}
		}
	}
	return nil
}

func (e *Export) plan(season logbook.ID, p *logbook.Plan) error {
	steps, targets := [][2]any{}, [][2]any{}
	for _, s := range p.Steps {
		steps = append(steps, [2]any{s.On, s.Setpoint})
	}
	for _, t := range p.Targets {
		targets = append(targets, [2]any{t.Temperature, t.Index})
	}
	a, err := json.Marshal(steps)
	if err != nil {
		return err
	}
	b, err := json.Marshal(targets)
	if err != nil {
		return err
	}
	return e.plans.Add(append([]any{string(p.ID), string(season), p.MadeOn, string(p.Goal), p.By, p.SwimUpOn, string(a),
		string(b), p.EndedOn},
		entryCells(&p.Entry)...)...)
}
