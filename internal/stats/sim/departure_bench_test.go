package sim

import (
	"fmt"
	"testing"

	"reddside/internal/stats"
)

var steps = []float64{0.1, 0.5, 1}

// BenchmarkDepartures prints the table of warming and cooling that nobody wanted:
//
//	go test -run xxx -bench Departures -benchtime 1x ./internal/stats/sim
func BenchmarkDepartures(b *testing.B) {
	const n = 10000
	names := []string{"this rule", "fixed 1 C", "fixed 2 C", "moving mean", "textbook CUSUM"}
	rules := []TempAlarm{DepartureRule(stats.DefaultDepartureConfig()), FixedLimit(1), FixedLimit(2), MovingMean(),
		TextbookCUSUM()}
	for b.Loop() {
		fmt.Printf("\n%d seasons a line; false a season (watch, act); share told by reading k\n", n)
		fmt.Printf("%-16s %4s | %-11s | %-11s %-11s | %-11s %-11s | %-13s | %-13s\n", "rule", "step", "nothing",
			"0.5/d by 3", "by 5", "0.2/d by 8", "by 14", "chiller 1, 2", "any hour 1, 2")
		for _, step := range steps {
			basin := Basin{Step: step, Low: 0.15, High: 0.6}
			run := func(t Trouble, seed uint64) []TempScore { return RunTemperature(basin, t, n, seed, rules) }
			alike := RunTemperature(basin, Trouble{PerDay: 1e-12}, n, 70, rules[:1])[0]
			alpha := alike.PerSeason(alike.WatchBy[2])
			calm, half, fifth := run(Trouble{}, 70), run(Trouble{PerDay: 0.5}, 71), run(Trouble{PerDay: 0.2}, 72)
			dead, hour := run(Trouble{Chiller: true}, 73), run(Trouble{Chiller: true, AnyHour: true}, 74)
			for i, name := range names {
				by := func(s []TempScore, k int) string {
					return fmt.Sprintf("%.3f %.3f", s[i].PerSeason(s[i].WatchBy[k-1]), s[i].PerSeason(s[i].ActBy[k-1]))
				}
				two := func(s []TempScore) string {
					return fmt.Sprintf("%.2f/%.3f %.3f", s[i].PerSeason(s[i].WatchBy[0]), s[i].PerSeason(s[i].ActBy[0]),
						s[i].PerSeason(s[i].ActBy[1]))
				}
				fmt.Printf("%-16s %4.1f | %.3f %.3f | %s %s | %s %s | %s | %s\n", name, step,
					calm[i].PerSeason(calm[i].Watches),
					calm[i].PerSeason(calm[i].Acts), by(half, 3), by(half, 5), by(fifth, 8), by(fifth, 14), two(dead),
					two(hour))
			}
			knowing(basin, alpha, n)
		}
		departureCases(n)
	}
}

// knowing prints what can be reached at 0.5 C a day by the third reading by those who
// know more than a rule: the tank but not the day, at the same false watches a season;
// and everything, with the same chance of a watch in those three readings of a calm tank.
func knowing(basin Basin, alpha float64, n int) {
	const perDay, window, wanted = 0.5, 4, 0.25
	calm, limit := TempScore{}, 3.0
	var rule []TempAlarm
	for ; ; limit += 0.1 {
		rule = []TempAlarm{KnowsTheTank(basin, perDay, limit, window)}
		if calm = RunTemperature(basin, Trouble{}, n/2, 70, rule)[0]; calm.PerSeason(calm.Watches) <= wanted {
			break
		}
	}
	tank := RunTemperature(basin, Trouble{PerDay: perDay}, n, 71, rule)[0]
	all := Know(basin, Trouble{PerDay: perDay}, Trouble{}, 3, n/2, 71)
	fmt.Printf("%-16s %4.1f | %.3f   -   | %.3f\n", "knows the tank", basin.Step, calm.PerSeason(calm.Watches),
		tank.PerSeason(tank.WatchBy[2]))
	fmt.Printf("%-16s %4.1f | (%.4f)    | %.3f\n", "knows all", basin.Step, alpha, all.Reaches(alpha))
}

// departureCases prints what has no bound: setpoints changed on purpose, by spread,
// without a setpoint, and thermometers that are off.
func departureCases(n int) {
	rule := []TempAlarm{DepartureRule(stats.DefaultDepartureConfig())}
	fmt.Printf("\nsetpoint changed on purpose and not entered: watch (it asks), act within 10 readings; entered: watch, act\n")
	for _, step := range steps {
		fmt.Printf("step %.1f:", step)
		for _, size := range []float64{-2, -1, 1, 1.5, 2, 2.5} {
			basin := Basin{Step: step, Low: 0.15, High: 0.6}
			s := RunTemperature(basin, Trouble{Setpoint: size}, n/2, 75, rule)[0]
			r := RunTemperature(basin, Trouble{Setpoint: size, Recorded: true}, n/2, 76, rule)[0]
			fmt.Printf("  %+.1f: %.2f %.2f; %.2f %.3f", size, s.PerSeason(s.WatchBy[9]), s.PerSeason(s.ActBy[9]),
				r.PerSeason(r.WatchBy[9]), r.PerSeason(r.ActBy[9]))
		}
		fmt.Println()
	}
	fmt.Printf("\nby spread, step 0.5: false watch, act; 0.5 C a day: watch by 3, act by 5\n")
	for _, sd := range []float64{0.15, 0.25, 0.35, 0.45, 0.6} {
		basin := Basin{Step: 0.5, Low: sd, High: sd}
		c := RunTemperature(basin, Trouble{}, n/2, 77, rule)[0]
		h := RunTemperature(basin, Trouble{PerDay: 0.5}, n/2, 78, rule)[0]
		fmt.Printf("spread %.2f: %.3f %.3f; %.3f %.3f\n", sd, c.PerSeason(c.Watches), c.PerSeason(c.Acts),
			h.PerSeason(h.WatchBy[2]), h.PerSeason(h.ActBy[4]))
	}
	fmt.Printf("\nother tanks, step 0.5: false watch, act; 0.5 C a day: watch by 3, act by 5; 0.2 C a day: watch by 8, act by 14\n")
	for name, basin := range map[string]Basin{"thermometer off by up to 0.5 C": {Step: 0.5, Low: 0.15, High: 0.6,
		Offset: 0.5},
		"no setpoint known": {Step: 0.5, Low: 0.15, High: 0.6, Free: true}} {
		c := RunTemperature(basin, Trouble{}, n/2, 79, rule)[0]
		h := RunTemperature(basin, Trouble{PerDay: 0.5}, n/2, 80, rule)[0]
		f := RunTemperature(basin, Trouble{PerDay: 0.2}, n/2, 81, rule)[0]
		fmt.Printf("%s: %.3f %.3f; %.3f %.3f; %.3f %.3f\n", name, c.PerSeason(c.Watches), c.PerSeason(c.Acts),
			h.PerSeason(h.WatchBy[2]),
			h.PerSeason(h.ActBy[4]), f.PerSeason(f.WatchBy[7]), f.PerSeason(f.ActBy[13]))
	}
}
