package rules_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"reddside/internal/logbook"
	"reddside/internal/rules"
)

// By how soon they kill, then by what is at stake, then by age; act before watch
// whatever is at stake.
func TestHarmOrder(t *testing.T) {
	want := []rules.Harm{
		{rules.Act, rules.InHours, 20, day(9)},
		{rules.Act, rules.InADay, 900, day(9)},
		{rules.Act, rules.InADay, 200, day(2)},
		{rules.Act, rules.InADay, 200, day(3)},
		{rules.Act, rules.InDays, 5000, day(0)},
		{rules.Act, rules.Later, 5000, day(0)},
		{rules.Watch, rules.InHours, 5000, day(0)},
		{rules.Watch, rules.Later, 5, day(0)},
		{rules.Due, rules.InHours, 5000, day(0)},
		{},
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for range 50 {
		got := slices.Clone(want)
		rng.Shuffle(len(got), func(i, j int) { got[i], got[j] = got[j], got[i] })
		slices.SortFunc(got, rules.Harm.Compare)
		if !slices.Equal(got, want) {
			t.Fatalf("%+v", got)
		}
	}
}

// The worst flag of a tank speaks for it; one that is set aside does not.
func TestHarmOfTank(t *testing.T) {
	tk := newTank().calm(0, 9).check(10, func(c *logbook.Check) { warm(c, 13); c.Filter = logbook.Stopped })
	a := tk.assess(10)
	if got, want := a.HarmWithout(nil), (rules.Harm{Kind: rules.Act, Pace: rules.InHours, AtStake: 200,
		Since: day(10)}); got != want {
		t.Errorf("%+v", got)
	}
	filter := func(f *rules.Flag) bool { return f.Rule == "filter_stopped" }
	if got := a.HarmWithout(filter); got.Kind != rules.Act || got.Pace != rules.InADay {
		t.Errorf("without the filter: %+v", got)
	}
	calm := newTank().calm(0, 9).assess(9)
	if got := calm.HarmWithout(nil); got != (rules.Harm{}) {
		t.Errorf("a calm tank: %+v", got)
	}
}

// Every rule that a scenario makes act has a pace of its own, but for food: fry
// starve in weeks.
func TestEveryActHasAPace(t *testing.T) {
	acts := 0
	for _, s := range scenarios() {
		for _, f := range s.tank.assessWith(s.on, s.forecast, nil).Flags {
			if f.Kind != rules.Act {
				continue
			}
			acts++
			if rules.PaceOf(f.Rule) == rules.Later && f.Rule != "food_missing" {
				t.Errorf("%s: no pace", f.Rule)
			}
		}
	}
	if acts < 20 {
		t.Errorf("%d acts", acts)
	}
}
