package store

import (
	"errors"
	"reflect"
	"testing"
	"time"

	"reddside/internal/logbook"
)

func (p *planted) plan() logbook.Plan {
	return logbook.Plan{SeasonID: p.season.ID, MadeOn: day, Goal: logbook.GoalRelease, By: day.AddDays(90),
		SwimUpOn: day.AddDays(80),
		Steps:    []logbook.PlanStep{{On: day.AddDays(1), Setpoint: 6.5}, {On: day.AddDays(2), Setpoint: 7.1}},
		Targets: []logbook.PlanTarget{{Temperature: 6, Index: 0.61}, {Temperature: 6.5, Index: 0.62},
			{Temperature: 7.1, Index: 0.633}}}
}

// A plan comes back with its season as it was stored; a second one ends the
// first, whose old form stays readable.
func TestPlanIsFollowedUntilItEnds(t *testing.T) {
	p, ctx := plant(t), t.Context()
	first, err := p.UsePlan(ctx, coordinator, p.plan(), "replaced", noon,
		Write{Once: IdempotencyKey{Key: "k1", Route: "plan", Fingerprint: "a"}})
	if err != nil {
		t.Fatal(err)
	}
	again, err := p.UsePlan(ctx, coordinator, p.plan(), "replaced", noon,
		Write{Once: IdempotencyKey{Key: "k1", Route: "plan", Fingerprint: "a"}})
	if err != nil || !again.Repeated || again.Row.ID != first.Row.ID {
		t.Fatalf("the same plan sent twice: %+v, %v", again, err)
	}
	s, err := p.LoadSeason(ctx, p.season.ID)
	if err != nil || s.Plan == nil {
		t.Fatalf("no plan in the season: %v", err)
	}
	want := first.Row
	if got := *s.Plan; !reflect.DeepEqual(got, want) {
		t.Errorf("loaded %+v, stored %+v", got, want)
	}
	second := p.plan()
	second.MadeOn, second.By = day.AddDays(3), day.AddDays(70)
	second.Steps, second.Targets = nil, second.Targets[:2]
	if _, err := p.UsePlan(ctx, coordinator, second, "a new plan", noon, Write{}); err != nil {
		t.Fatal(err)
	}
	plans, err := p.Plans(ctx, p.season.ID)
	if err != nil || len(plans) != 2 {
		t.Fatalf("%d plans, %v", len(plans), err)
	}
	for _, x := range plans {
		if ended := !x.EndedOn.IsZero(); ended != (x.ID == first.Row.ID) {
			t.Errorf("plan of %s: ended %v", x.MadeOn, x.EndedOn)
		}
	}
	s, err = p.LoadSeason(ctx, p.season.ID)
	if err != nil || s.Plan.MadeOn != second.MadeOn {
		t.Fatalf("the season follows %+v, %v", s.Plan, err)
	}
	if _, err := p.EndPlan(ctx, coordinator, *s.Plan, s.Plan.Revision, day.AddDays(5), "hatched early", noon,
		nil); err != nil {
		t.Fatal(err)
	}
	if s, err = p.LoadSeason(ctx, p.season.ID); err != nil || s.Plan != nil {
		t.Errorf("an ended plan is still followed: %+v, %v", s.Plan, err)
	}
	if past, err := p.RowHistory(ctx, first.Row.ID); err != nil || len(past) != 1 || past[0].Reason != "a new plan" {
		t.Errorf("history of the first plan: %+v, %v", past, err)
	}
	if rep, err := p.Verify(ctx, noon); err != nil || len(rep.Problems) > 0 {
		t.Errorf("verify: %+v, %v", rep.Problems, err)
	}
}

// The season of a write that only adds a plan is the season that a load gives.
func TestPlanAndGuessReachTheFlags(t *testing.T) {
	p, ctx := plant(t), t.Context()
	if _, err := p.LoadSeason(ctx, p.season.ID); err != nil { // keep it
		t.Fatal(err)
	}
	var seen *logbook.Plan
	_, err := p.UsePlan(ctx, coordinator, p.plan(), "replaced", noon,
		Write{After: func(s *logbook.Season, _ []Flag) ([]FlagChange, error) {
			seen = s.Plan
			return nil, nil
		}})
	if err != nil || seen == nil || len(seen.Steps) != 2 {
		t.Fatalf("the rules saw %+v, %v", seen, err)
	}
}

// One guess for each group, whatever the case; corrected with a reason.
func TestOneGuessPerGroup(t *testing.T) {
	p, ctx := plant(t), t.Context()
	g := logbook.Guess{SeasonID: p.season.ID, Group: "Group 3", On: day.AddDays(40), MadeOn: day}
	saved, err := p.CreateGuess(ctx, coordinator, g, noon, Write{})
	if err != nil {
		t.Fatal(err)
	}
	other := g
	other.Group, other.On = " group  3", day.AddDays(44)
	_, err = p.CreateGuess(ctx, coordinator, other, noon, Write{})
	var e *logbook.Error
	if !errors.As(err, &e) || e.Key != "guess.exists" {
		t.Fatalf("second guess of the group: %v", err)
	}
	g.On = day.AddDays(42)
	if _, err := p.CorrectGuess(ctx, coordinator, saved.Row.ID, 1, g, " ", noon); err == nil {
		t.Error("corrected without a reason")
	}
	if _, err := p.CorrectGuess(ctx, coordinator, saved.Row.ID, 1, g, "misread", noon.Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	s, err := p.LoadSeason(ctx, p.season.ID)
	if err != nil || len(s.Guesses) != 1 || s.Guesses[0].On != g.On || !s.Guesses[0].Corrected() {
		t.Errorf("guesses %+v, %v", s.Guesses, err)
	}
	for _, query := range []string{"UPDATE guess SET guessed_on = '2026-01-01'", "DELETE FROM guess",
		"UPDATE plan SET goal = 'release'"} {
		if query[:6] == "UPDATE" && query[7:11] == "plan" {
			if _, err := p.UsePlan(ctx, coordinator, p.plan(), "replaced", noon, Write{}); err != nil {
				t.Fatal(err)
			}
		}
		if err := p.raw(t, query); err == nil {
			t.Errorf("stored: %s", query)
		}
	}
}

func TestClosedLots(t *testing.T) {
	p, ctx := plant(t), t.Context()
	lots, err := p.ClosedLots(ctx)
	if err != nil || len(lots) != 0 {
		t.Fatalf("%d lots with an open season are closed, %v", len(lots), err)
	}
	s, err := p.LoadSeason(ctx, p.season.ID)
	if err != nil {
		t.Fatal(err)
	}
	s.ClosedOn = day.AddDays(5)
	if _, err := p.UpdateSeason(ctx, coordinator, *s, noon); err != nil {
		t.Fatal(err)
	}
	lots, err = p.ClosedLots(ctx)
	if err != nil || len(lots) != 1 || lots[0].ClosedOn != day.AddDays(5) || lots[0].Supplier == "" {
		t.Errorf("closed lots %+v, %v", lots, err)
	}
}
