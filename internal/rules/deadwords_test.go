package rules_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/stats"
	"reddside/internal/units"
)

// ownRates is a profile whose death rates are the programme's own, with the stock
// values, so that a chance may be promised.
func ownRates(t *testing.T) *rules.Profile {
	t.Helper()
	cfg, _ := rules.StockProfile().DeadConfig()
	var own []rules.Override
	for stage, limit := range rules.DeadRateLimits() {
		own = append(own, rules.Override{Limit: limit, Value: cfg.Rates[stage], Reason: "our own seasons"})
	}
	p, err := rules.NewProfile(1, own)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// deadTank is a calm tank of eyed eggs with daily counts, then none over a
// weekend and so many dead on Monday.
func deadTank(dead int) *tank {
	t := newTank()
	for n := 0; n <= 11; n++ { // to Friday of the second week
		t.check(n, func(c *logbook.Check) { warm(c, 7); c.DeadEggs = units.Some(0); c.Stage = logbook.EyedEgg })
	}
	return t.check(14, func(c *logbook.Check) { warm(c, 7); c.DeadEggs = units.Some(dead); c.Stage = logbook.EyedEgg })
}

// The words of a dead count: since which day, what would be expected, what is
// unusual, and the promise of a chance only with the programme's own rates. The
// numbers are checked against the distribution of the notes (S1): the range holds
// nine in ten, and more than the limit is as rare as said.
func TestDeadCountWords(t *testing.T) {
	tk := deadTank(9)
	f := flag(tk.assessWith(14, nil, nil), "dead_count")
	if f == nil || f.Kind != rules.Act {
		t.Fatalf("9 dead over a weekend: %+v", f)
	}
	if f.Why.Key != "rule.dead_count.why_expected" {
		t.Errorf("a chance is promised before own rates are known: %s", f.Why.Key)
	}
	each, _ := f.Headline.Args["Each"].(logbook.DailyCounts)
	if len(each.Days) != 1 || each.Days[0].N != 9 || f.Why.Args["Day"] != time.Friday || f.Why.Args["Count"] != 3 {
		t.Errorf("headline %v, why %v", f.Headline.Args, f.Why.Args)
	}
	f = flag(tk.assessWith(14, nil, ownRates(t)), "dead_count")
	if f.Why.Key != "rule.dead_count.why_chance" {
		t.Fatalf("own rates, and no chance: %s", f.Why.Key)
	}
	cfg, _ := rules.StockProfile().DeadConfig()
	results, err := stats.JudgeDead(cfg, deadChecks(tk, cfg))
	if err != nil {
		t.Fatal(err)
	}
	last := results[len(results)-1]
	mu := last.Mu[last.Window-1]
	tail := func(x int) float64 { return stats.PredictiveTail(x, mu, cfg.Phi, last.A) }
	low, high, most := f.Why.Args["Low"].(int), f.Why.Args["High"].(int), f.Why.Args["Limit"].(int)
	if in := tail(low) - tail(high+1); in < 0.9 {
		t.Errorf("%d to %d holds only %.3f", low, high, in)
	}
	if p := tail(most + 1); p > cfg.ActP || tail(most) <= cfg.ActP && most >= cfg.MinDead {
		t.Errorf("more than %d has chance %.5f", most, p)
	}
	if n := f.Why.Args["Checks"].(int); float64(n) < 0.95/cfg.ActP {
		t.Errorf("once in %d checks, at least %.0f is meant", n, 1/cfg.ActP)
	}
	checkTexts(t, *f)
	t.Logf("9 dead since Friday: %d to %d expected in %v days; more than %d once in %v checks", low, high,
		f.Why.Args["Count"], most, f.Why.Args["Checks"])
}

// deadChecks are the picks of deadTank, by hand: the first four days after
// delivery at the rate of arrival, then the rate of eggs.
func deadChecks(tk *tank, cfg stats.DeadConfig) []stats.DeadCheck {
	var out []stats.DeadCheck
	before := -1
	for _, c := range tk.Checks {
		n := c.On.Sub(day(0))
		dead, _ := c.Dead()
		pick := stats.DeadCheck{Days: n - before, AtRisk: 200, Dead: dead}
		for d := before + 1; d <= n; d++ {
			if d+1 <= 4 {
				pick.RateSum += cfg.Rates[stats.StageArrival]
			} else {
				pick.RateSum += cfg.Rates[stats.StageEgg]
			}
		}
		out, before = append(out, pick), n
	}
	return out
}

// One more dead egg in the newest count never takes a flag of the family away,
// nor makes it less urgent.
func TestOneMoreDeadNeverQuietens(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		tk := newTank()
		days := rapid.IntRange(1, 25).Draw(rt, "days")
		for n := range days {
			if n < days-1 && rapid.IntRange(0, 4).Draw(rt, "missed") == 0 {
				continue
			}
			dead := rapid.SampledFrom([]int{0, 0, 0, 1, 2, 3, 5, 9}).Draw(rt, "dead")
			fuzz := rapid.SampledFrom([]logbook.Observation{"", logbook.NotSeen, logbook.Seen}).Draw(rt, "fuzz")
			tk.check(n, func(c *logbook.Check) {
				warm(c, 7)
				c.DeadEggs = units.Some(dead)
				c.Fungus = fuzz
				c.Stage = logbook.EyedEgg
			})
		}
		order := func() int {
			if f := flag(tk.assess(days-1), "dead_count"); f != nil {
				return f.Kind.Order()
			}
			return 9
		}
		before := order()
		last := &tk.Checks[len(tk.Checks)-1]
		last.DeadEggs = units.Some(last.DeadEggs.V + 1)
		if after := order(); after > before {
			rt.Fatalf("urgency %d with one more dead, %d without", after, before)
		}
	})
}

// What was raised on a day stays what was raised on that day, whatever comes
// later without a correction.
func TestLaterChecksChangeNothingEarlier(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		tk := newTank()
		n := rapid.IntRange(4, 30).Draw(rt, "days")
		then := rapid.IntRange(1, n-1).Draw(rt, "then")
		var first []string
		for d := range n {
			v, dead := rapid.Float64Range(2, 14).Draw(rt, "temperature"), rapid.IntRange(0, 6).Draw(rt, "dead")
			state := rapid.SampledFrom([]logbook.Equipment{"", logbook.Running, logbook.Stopped}).Draw(rt, "chiller")
			tk.check(d, func(c *logbook.Check) {
				warm(c, v)
				c.DeadEggs = units.Some(dead)
				c.Chiller = state
				c.Stage = logbook.EyedEgg
			})
			if d == then {
				first = said(tk.assess(then))
			}
		}
		if now := said(tk.assess(then)); !slices.Equal(first, now) {
			rt.Fatalf("day %d said %v, and later %v", then, first, now)
		}
	})
}

func said(a rules.Assessment) []string {
	var out []string
	for _, f := range a.Flags {
		out = append(out, fmt.Sprint(f.Kind, f.Rule, f.Subject, f.Since, f.Headline, f.Why))
	}
	return out
}

// Fuzz seen among fry is not said to be on eggs.
func TestFuzzWordsFollowTheStage(t *testing.T) {
	for stage, want := range map[logbook.Stage]string{logbook.EyedEgg: "rule.fungus.headline",
		logbook.Fry: "rule.fungus.headline_fish"} {
		tk := newTank().calm(0, 4).check(5, func(c *logbook.Check) { c.Stage, c.Fungus = stage, logbook.Seen })
		if f := flag(tk.assessWith(5, nil, nil), "fungus"); f == nil || f.Headline.Key != want {
			t.Errorf("%s: %+v, want %s", stage, f, want)
		}
	}
}
