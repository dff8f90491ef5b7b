package sim

import (
	"fmt"
	"testing"

	"reddside/internal/stats"
)

// BenchmarkScenarios prints the whole table of scenarios and rules:
//
//	go test -bench Scenarios -benchtime 1x ./internal/stats/sim
func BenchmarkScenarios(b *testing.B) {
	const n = 10000
	for b.Loop() {
		cfg := stats.DefaultDeadConfig()
		cusum := tunedCUSUM(0.05)
		names := []string{"this rule, act", "this rule, watch", "five or more dead", "2 % of the tank",
			"c-chart", "moving mean + 3 sd", fmt.Sprintf("Poisson CUSUM h=%g", cusum)}
		rules := []Alarm{DeadRule(cfg, stats.DeadAct), DeadRule(cfg, stats.DeadWatch), FixedCount(5),
			FixedShare(0.02), CChartRule(), MovingRule(), PoissonCUSUM(cusumK, cusum)}

		worlds := []struct {
			name string
			p    Programme
		}{{"base", Base()}, {"good tanks", Good()}, {"poor tanks", Poor()}, {"40 % missed", Missing()},
			{"clumped", Clumped()}, {"15-30 % loss", TwiceAsBad()}}
		fmt.Printf("\nfalse episodes per season, %d seasons each\n%-20s", n, "")
		table := make([][]Score, len(worlds))
		for i, w := range worlds {
			fmt.Printf(" %12s", w.name)
			table[i] = Run(w.p, Nothing, 0, n, uint64(10+i), rules)
		}
		fmt.Println()
		for r, name := range names {
			fmt.Printf("%-20s", name)
			for i := range worlds {
				fmt.Printf(" %12.3f", table[i][r].FalsePerSeason())
			}
			fmt.Println()
		}

		fungus := Run(Base(), Fungus, 0, n, 20, rules)
		night20 := Run(Base(), Overnight, 0.20, n, 21, rules)
		night5 := Run(Base(), Overnight, 0.05, n, 22, rules)
		fmt.Printf("\nflagged by check 1/2/3/4, %d seasons each\n%-20s %-24s %-24s %8s %8s\n", n, "",
			"fungus, from first death", "fungus, from onset", "20 %", "5 %")
		for r, name := range names {
			f := fungus[r]
			fmt.Printf("%-20s %-24s %-24s %8.3f %8.3f\n", name, shares(f.ByCheck, f.Events),
				shares(f.ByOnset, f.Events), night20[r].FoundBy(1), night5[r].FoundBy(1))
		}
		sizes(n, rules[:2])
		water(n / 2)
	}
}

func shares(by [4]int, events int) string {
	s := ""
	for _, k := range by {
		s += fmt.Sprintf("%.2f ", float64(k)/float64(events))
	}
	return s
}

func sizes(n int, rules []Alarm) {
	fmt.Printf("\nfungus by number of eggs: act by check 2/3, watch by check 2\n")
	for _, eggs := range []int{50, 100, 200, 300} {
		p := Base()
		p.EggsMin, p.EggsMax = eggs, eggs
		s := Run(p, Fungus, 0, n, 30, rules)
		fmt.Printf("%4d eggs: %.2f %.2f  %.2f\n", eggs, s[0].FoundBy(2), s[0].FoundBy(3), s[1].FoundBy(2))
	}
}

func water(n int) {
	fmt.Printf("\ntemperature rules, %d seasons each (median days to the flag)\n", n)
	for _, step := range []float64{0.1, 0.2, 0.5, 1} {
		calm := RunWater(Water{Step: step}, n, 40)
		stuck := RunWater(Water{Step: step, Stuck: true}, n, 41)
		slip := RunWater(Water{Step: step, Slip: 2}, n, 42)
		per := func(k int) float64 { return float64(k) / float64(n) }
		fmt.Printf("step %.1f: false drift %.3f, false stuck %.3f, prompts %.2f a season; stuck %.0f d; 2 C slip asked %.2f; drift",
			step, per(calm.DriftEpisodes), per(calm.StuckEpisodes), per(calm.Prompts),
			MedianDelay(stuck.StuckDelays), per(slip.SlipsAsked))
		for _, d := range []float64{0.05, 0.1, 0.2} {
			fmt.Printf(" %.0f d", MedianDelay(RunWater(Water{Step: step, DriftPerD: d}, n, 43).DriftDelays))
		}
		fmt.Println(" at 0.05/0.1/0.2 C a day")
	}
}

// cusumK is the reference of the compared sum, in multiples of the expected.
const cusumK = 2

// tunedCUSUM returns the smallest limit in halves whose false alarms in the base
// scenario are at most the target, on seasons of its own.
func tunedCUSUM(target float64) float64 {
	for h := 4.0; ; h += 0.5 {
		if Run(Base(), Nothing, 0, 4000, 99, []Alarm{PoissonCUSUM(cusumK, h)})[0].FalsePerSeason() <= target {
			return h
		}
	}
}

// TestGeneratedSeasons holds the generator to its assumptions: some 80 checks
// (the study had 84), a loss near 7 %, a dispersion of the counts near 2.4.
func TestGeneratedSeasons(t *testing.T) {
	const n = 3000
	g := NewGenerator(7)
	var checks, dead, expected, square, loss float64
	for range n {
		s := g.Season(Base(), Nothing, 0)
		found := 0
		for _, c := range s.Checks {
			mu := float64(c.AtRisk) * c.RateSum
			checks++
			found += c.Dead
			dead += float64(c.Dead)
			expected += mu
			square += (float64(c.Dead) - mu) * (float64(c.Dead) - mu)
		}
		loss += float64(found) / float64(s.Checks[0].AtRisk)
	}
	within := func(what string, got, low, high float64) {
		t.Logf("%s: %.3f", what, got)
		if got < low || got > high {
			t.Errorf("%s: %.3f outside %v..%v", what, got, low, high)
		}
	}
	within("checks per season", checks/n, 76, 92)
	within("season loss found", loss/n, 0.05, 0.08)
	within("dispersion", square/expected, 2.0, 2.8)
}

// The same seed must give the same season.
func TestSeedRepeats(t *testing.T) {
	a, b := NewGenerator(5).Season(Base(), Fungus, 0), NewGenerator(5).Season(Base(), Fungus, 0)
	if fmt.Sprint(a) != fmt.Sprint(b) {
		t.Error("two seasons of one seed differ")
	}
}
