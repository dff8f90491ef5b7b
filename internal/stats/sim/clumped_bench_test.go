package sim

import (
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"testing"

	"reddside/internal/stats"
)

// batchScore is what the rule did over many invented seasons.
type batchScore struct {
	seasons, acts, withAct, watches, never int
	delays                                 []int     // days from the first death to the act
	lost                                   []float64 // share of the eggs lost by then
}

func runBatch(b Batch, n int, seed uint64, cfg stats.DeadConfig) (s batchScore) {
	rng := rand.New(rand.NewPCG(seed, 77))
	for range n {
		m := b.Draw(rng)
		results, err := stats.JudgeDead(cfg, m.Checks)
		if err != nil {
			panic(err)
		}
		if b.Trouble.Rate > 0 && m.First == 0 {
			continue
		}
		s.seasons++
		lastAct, lastWatch, told, any := -99, -99, false, false
		for i, r := range results {
			day := m.On[i]
			if r.Flag >= stats.DeadWatch {
				if day-lastWatch > 7 {
					s.watches++
				}
				lastWatch = day
			}
			if r.Flag != stats.DeadAct {
				continue
			}
			if day-lastAct > 7 {
				s.acts++
			}
			lastAct, any = day, true
			if m.First > 0 && day >= m.First && !told {
				told = true
				s.delays = append(s.delays, day-m.First)
				s.lost = append(s.lost, float64(m.Lost[day])/float64(m.Eggs))
			}
		}
		if any {
			s.withAct++
		}
		if m.First > 0 && !told {
			s.never++
			s.delays = append(s.delays, 999)
		}
	}
	slices.Sort(s.delays)
	slices.Sort(s.lost)
	return s
}

func (s batchScore) share(n int) float64 { return float64(n) / float64(s.seasons) }

func (s batchScore) String() string {
	return fmt.Sprintf("median %2d d, 9 in 10 %3d d; lost %.1f %% (median), %.1f %% (9 in 10); never %.1f %%",
		s.delays[len(s.delays)/2],
		s.delays[len(s.delays)*9/10], 100*s.lost[len(s.lost)/2], 100*s.lost[len(s.lost)*9/10], 100*s.share(s.never))
}

func outbreaks() map[string]Outbreak {
	return map[string]Outbreak{
		"fungus 0.3 % doubling in 4 days": {Rate: 0.003, Doubling: 4, Days: 40},
		"fungus 0.2 % doubling in 6 days": {Rate: 0.002, Doubling: 6, Days: 40},
		"fungus 1 % doubling in 2 days":   {Rate: 0.01, Doubling: 2, Days: 40},
		"chronic 0.5 % a day, alevins":    {Rate: 0.005, Days: 20, Alevins: true},
		"5 % in one night, eggs":          {Rate: 0.05, Days: 1},
	}
}

// knowingOutbreaks prints by which day half the outbreaks can be told by who knows
// their day, their rate and the tank, when one stretch in 200 without one is called so.
func knowingOutbreaks(n int) {
	fmt.Printf("\nwho knows the day, the rate and the tank: share told by day 3, 5, 7, 9 of the outbreak, one false in 200\n")
	for _, name := range slices.Sorted(maps.Keys(outbreaks())) {
		o := outbreaks()[name]
		if o.Doubling == 0 {
			continue
		}
		fmt.Printf("%-34s", name)
		for _, day := range []int{3, 5, 7, 9} {
			fmt.Printf(" %.2f", KnowOutbreak(Batch{LossLow: 0.03, LossHigh: 0.12, Split: Steady(), Trouble: o}, day,
				0.005, n, 53))
		}
		fmt.Println()
	}
}

// BenchmarkOutbreaks prints the slow outbreaks and the losses that have another
// cause, in the second world:
//
//	go test -run xxx -bench Outbreaks -benchtime 1x ./internal/stats/sim
func BenchmarkOutbreaks(b *testing.B) {
	const n = 10000
	for b.Loop() {
		plain := stats.DefaultDeadConfig()
		plain.ClockP, plain.ActP = 0, 0.0007 // as it was
		knowingOutbreaks(n)
		for _, v := range []struct {
			name string
			cfg  stats.DeadConfig
		}{{"one clock (last 1 to 3 checks)", plain}, {"with the second clock", stats.DefaultDeadConfig()}} {
			fmt.Printf("\n%s, %d seasons a line\n", v.name, n)
			for _, c := range []struct {
				name      string
				low, high float64
			}{{"calm tanks, 2 to 8 %", 0.02, 0.08}, {"ordinary, 5 to 15 %", 0.05, 0.15},
				{"poor, 10 to 25 %", 0.10, 0.25}} {
				s := runBatch(Batch{LossLow: c.low, LossHigh: c.high, Split: Steady()}, n, 50, v.cfg)
				fmt.Printf("%-34s false acts %.3f a season, watches and acts %.2f\n", c.name, s.share(s.acts),
					s.share(s.watches))
			}
			for _, name := range slices.Sorted(maps.Keys(outbreaks())) {
				s := runBatch(Batch{LossLow: 0.03, LossHigh: 0.12, Split: Steady(), Trouble: outbreaks()[name]}, n, 51,
					v.cfg)
				fmt.Printf("%-34s %s\n", name, s)
			}
			for _, c := range []struct {
				name  string
				loss  float64
				split [5]float64
			}{
				{"after the journey 3 %", 0.07, [5]float64{.43, .1, .2, .12, .15}},
				{"after the journey 5 %", 0.09, [5]float64{.56, .08, .15, .09, .12}},
				{"after the journey 8 %", 0.12, [5]float64{.667, .06, .11, .07, .093}},
				{"hatch week 4 %", 0.08, [5]float64{.12, .1, .5, .1, .18}},
				{"hatch week 7 %", 0.11, [5]float64{.09, .07, .64, .07, .13}},
				{"hatch week 10 %", 0.14, [5]float64{.07, .05, .71, .05, .12}},
				{"fry that never feed 8 %", 0.12, [5]float64{.08, .06, .12, .06, .68}},
				{"fry that never feed 15 %", 0.19, [5]float64{.05, .04, .08, .04, .79}},
			} {
				s := runBatch(Batch{LossLow: c.loss, LossHigh: c.loss * 1.0001, Split: c.split}, n, 52, v.cfg)
				fmt.Printf("%-34s seasons with an act %.1f %%, acts %.3f a season\n", c.name, 100*s.share(s.withAct),
					s.share(s.acts))
			}
		}
	}
}
