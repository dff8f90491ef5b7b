package report

import (
	"encoding/json"

	"reddside/internal/logbook"
)

// The tables beside the log: what releases were like, plans and guesses.

func releaseTable(id, season Column) *Table {
	return &Table{Name: "releases", About: "What releases were like; day, count, weight, place and permit stand in the event.",
		Refs: []Ref{{"season_id", "seasons"}, {"event_id", "events"}}, Columns: append([]Column{id, season,
			{"event_id", Text, "event of the release", "", dwc + "eventID"}, {"water_body", Text, "receiving water", "", dwc + "waterBody"},
			{"latitude", Number, "latitude of the place", "deg", dwc + "decimalLatitude"}, {"longitude", Number, "longitude of the place", "deg", dwc + "decimalLongitude"},
			{"purpose", Text, "purpose", "", ""}, {"life_stage", Text, "stage of life", "", dwc + "lifeStage"},
			{"mean_length_mm", Number, "mean length", "mm", ""}, {"size_method", Text, "how weight and length were measured", "", dwc + "measurementMethod"},
			{"transport", Text, "how they travelled", "", ""}, {"left_at", WallTime, "time of leaving", "", ""}, {"arrived_at", WallTime, "time of arrival", "", ""},
			{"container_l", Number, "water they travelled in", "L", ""}, {"oxygen_supply", Text, "none, air or oxygen", "", ""},
			{"water_source", Text, "where that water came from", "", ""}, {"tank_c", Number, "water of the tank", "Cel", ""},
			{"bucket_c", Number, "water of the bucket at the stream", "Cel", ""}, {"stream_c", Number, "water of the stream", "Cel", ""},
			{"tempering_steps", Whole, "steps of tempering", "1", ""}, {"tempering_minutes", Number, "tempering in all", "min", ""},
			{"supplier", Text, "supplier of the lot", "", ""}, {"stock", Text, "stock of the lot", "", ""},
			{"health_statement", Text, "yes, no or not_asked", "", ""}, {"health_note", Text, "disease history or number of the statement", "", ""},
			{"first_count", Whole, "first count", "1", ""}, {"second_count", Whole, "count of a second person who did not see the first", "1", ""},
			{"third_count", Whole, "count together, where the two differ", "1", ""}, {"reason_again", Text, "why there is one more release", "", ""},
			{"reason_more", Text, "why there are more fish than the log says", "", ""},
			{"not_ready", Text, "signs of readiness that were not ticked", "", ""}}, entryColumns()...)}
}

func planTable(id, season Column) *Table {
	return &Table{Name: "plans", About: "Setpoint plans.", Refs: []Ref{{"season_id", "seasons"}}, Columns: append([]Column{id, season,
		{"made_on", Day, "day of the state it starts from", "", ""}, {"goal", Text, "swim_up or release", "", ""},
		{"wanted_on", Day, "wanted day of the goal", "", ""}, {"swim_up_on", Day, "swim-up by the plan", "", ""},
		{"steps", List, "[[day, setpoint in Cel], ...]", "", ""}, {"targets", List, "[[mean in Cel, development index], ...] of each day from made_on", "", ""},
		{"ended_on", Day, "day on which it was given up", "", ""}}, entryColumns()...)}
}

func guessTable(id, season Column) *Table {
	return &Table{Name: "guesses", About: "Guesses of groups: when half will have hatched.", Refs: []Ref{{"season_id", "seasons"}}, Columns: append([]Column{id, season,
		{"group", Text, "group; never a name", "", ""}, {"on", Day, "guessed day", "", ""}, {"made_on", Day, "day of the guess", "", ""}}, entryColumns()...)}
}

func (e *Export) more(s *logbook.Season, voided Voided) error {
	for _, list := range [][]logbook.ReleaseRecord{s.Releases, voided.Releases} {
		for i := range list {
			r := &list[i]
			if err := e.releases.Add(append([]any{string(r.ID), string(s.ID), string(r.EventID), r.WaterBody, Opt(r.Latitude), Opt(r.Longitude),
				r.Purpose, string(r.LifeStage), Opt(r.MeanMM), r.SizeMethod, r.Transport, r.LeftAt, r.ArrivedAt, Opt(r.Container), string(r.Oxygen),
				r.WaterSource, Opt(r.Tank), Opt(r.Bucket), Opt(r.Stream), OptWhole(r.TemperSteps), OptWhole(r.TemperMinutes), r.Supplier, r.Stock,
				string(r.Health), r.HealthNote, OptWhole(r.First), OptWhole(r.Second), OptWhole(r.Third), r.ReasonAgain, r.ReasonMore,
				r.NotReady}, entryCells(&r.Entry)...)...); err != nil {
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
			if err := e.guesses.Add(append([]any{string(g.ID), string(s.ID), g.Group, g.On, g.MadeOn}, entryCells(&g.Entry)...)...); err != nil {
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
	return e.plans.Add(append([]any{string(p.ID), string(season), p.MadeOn, string(p.Goal), p.By, p.SwimUpOn, string(a), string(b), p.EndedOn},
		entryCells(&p.Entry)...)...)
}
