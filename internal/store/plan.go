package store

import (
	"context"
	"encoding/json"
	"reflect"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

var planTable = entryTable[logbook.Plan]{
	name: "plan",
	cols: []string{"id", "made_on", "goal", "by_on", "swim_up_on", "steps", "targets", "ended_on"},
	args: func(v *logbook.Plan) []any {
		return []any{v.ID, v.MadeOn, v.Goal, v.By, v.SwimUpOn, stepsJSON(v.Steps), targetsJSON(v.Targets), v.EndedOn}
	},
	read: func(r row) logbook.Plan {
		return logbook.Plan{ID: logbook.ID(r.text(0)), MadeOn: r.date(1), Goal: logbook.PlanGoal(r.text(2)),
			By:       r.date(3),
			SwimUpOn: r.date(4), Steps: readSteps(r.text(5)), Targets: readTargets(r.text(6)), EndedOn: r.date(7),
			Entry: readEntry(r[8:])}
	},
	id:   func(v *logbook.Plan) *logbook.ID { return &v.ID },
	in:   func(v *logbook.Plan) *logbook.ID { return &v.SeasonID },
	meta: func(v *logbook.Plan) *logbook.Entry { return &v.Entry },
	add:  func(s *logbook.Season, v logbook.Plan) { s.Plan = &v },
	same: func(a, b *logbook.Plan) bool {
		x, y := *a, *b
		x.ID, y.ID, x.Entry, y.Entry = "", "", logbook.Entry{}, logbook.Entry{}
		return reflect.DeepEqual(x, y)
	},
}

// Steps and targets are stored as pairs: a plan has a hundred days and more.

func stepsJSON(steps []logbook.PlanStep) string {
	out := make([][2]any, len(steps))
	for i, s := range steps {
		out[i] = [2]any{s.On, units.Round(float64(s.Setpoint), 3)}
	}
	b, _ := json.Marshal(out) // dates and finite numbers
	return string(b)
}

func targetsJSON(targets []logbook.PlanTarget) string {
	out := make([][2]float64, len(targets))
	for i, t := range targets {
		out[i] = [2]float64{units.Round(float64(t.Temperature), 3), units.Round(t.Index, 6)}
	}
	b, _ := json.Marshal(out)
	return string(b)
}

// readSteps and readTargets read what was written here; anything else leaves
// the list short, which verification of the season shows.
func readSteps(s string) (out []logbook.PlanStep) {
	var pairs [][2]json.RawMessage
	_ = json.Unmarshal([]byte(s), &pairs)
	for _, p := range pairs {
		var on civil.Date
		var c float64
		if json.Unmarshal(p[0], &on) != nil || json.Unmarshal(p[1], &c) != nil {
			return out
		}
		out = append(out, logbook.PlanStep{On: on, Setpoint: units.Celsius(c)})
	}
	return out
}

func readTargets(s string) []logbook.PlanTarget {
	var pairs [][2]float64
	_ = json.Unmarshal([]byte(s), &pairs)
	out := make([]logbook.PlanTarget, len(pairs))
	for i, p := range pairs {
		out[i] = logbook.PlanTarget{Temperature: units.Celsius(p[0]), Index: p[1]}
	}
	return out
}

// UsePlan stores a plan as the one that its season follows. A plan that was
// followed until then ends on the day the new one starts, with the reason given.
// The rows must have been validated.
func (d *DB) UsePlan(ctx context.Context, actor logbook.Actor, v logbook.Plan, replaced string, now time.Time,
	w Write) (Saved[logbook.Plan], error) {
	out := Saved[logbook.Plan]{Row: v}
	err := d.write(ctx, "use plan", func(c *conn) error {
		ans, found, err := w.Once.find(ctx, c, actor)
		if err != nil {
			return err
		}
		if found {
			return planTable.repeated(ctx, c, &out, ans)
		}
		h, err := c.head(ctx, actor, v.SeasonID)
		if err != nil {
			return err
		}
		have, err := c.openPlan(ctx, h.num)
		if err != nil {
			return err
		}
		if have != nil {
			ended := *have
			ended.EndedOn = civil.Max(v.MadeOn, have.MadeOn)
			ended.Entry = next(have.Entry, actor, replaced, false, now)
			if err := planTable.update(ctx, c, &ended); err != nil {
				return err
			}
		}
		if err := newID(&v.ID); err != nil {
			return err
		}
		v.Entry = newEntry(actor, now)
		if err := planTable.insert(ctx, c, h.num, &v); err != nil {
			return err
		}
		out.Row = v
		add := func(s *logbook.Season) { planTable.add(s, v) }
		if out.Changes, err = c.after(ctx, actor, h, v.SeasonID, now, w.After, add); err != nil {
			return err
		}
		return w.Once.keep(ctx, c, actor, now, created{ID: v.ID, Changes: out.Changes})
	})
	return out, err
}

func (c *conn) openPlan(ctx context.Context, num int64) (have *logbook.Plan, err error) {
	_, err = c.one(ctx, func(r row) error { got := planTable.read(r); have = &got; return nil },
		"SELECT "+planTable.list()+" FROM plan WHERE season_num = ? AND ended_on IS NULL AND voided = 0", num)
	return have, err
}

// EndPlan ends a plan on a day; from is the revision that the person saw.
func (d *DB) EndPlan(ctx context.Context, actor logbook.Actor, p logbook.Plan, from int64, on civil.Date, reason string,
	now time.Time, after After) (Saved[logbook.Plan], error) {
	p.EndedOn = on
	return planTable.correct(ctx, d, actor, p.ID, from, &p, reason, now, after)
}

// Plans lists the plans of a season, ended ones too, newest first.
func (d *DB) Plans(ctx context.Context, season logbook.ID) ([]logbook.Plan, error) {
	var out []logbook.Plan
	err := d.read(ctx, "list plans", func(c *conn) error {
		return c.each(ctx, func(r row) error {
			v := planTable.read(r)
			v.SeasonID = season
			out = append(out, v)
			return nil
		}, "SELECT "+planTable.list()+` FROM plan WHERE season_num = (SELECT num FROM season WHERE id = ?) AND voided = 0
			ORDER BY received_at DESC, id`, season)
	})
	return out, err
}
