package sim

import (
	"math"

	"reddside/internal/stats"
)

// Alarm says at which checks of a season a rule speaks.
type Alarm func(s Season) []bool

// DeadRule is the rule of package stats at the given strength.
func DeadRule(cfg stats.DeadConfig, least stats.DeadFlag) Alarm {
	return func(s Season) []bool {
		results, err := stats.JudgeDead(cfg, s.Checks)
		if err != nil {
			panic(err) // generated checks are always in range
		}
		out := make([]bool, len(results))
		for i, r := range results {
			out[i] = r.Flag >= least
		}
		return out
	}
}

// FixedCount speaks at n dead or more.
func FixedCount(n int) Alarm {
	return perCheck(func(c stats.DeadCheck) bool { return c.Dead >= n })
}

// FixedShare speaks at a share of the tank, at least two dead.
func FixedShare(share float64) Alarm {
	return perCheck(func(c stats.DeadCheck) bool {
		return c.Dead >= 2 && float64(c.Dead) >= share*float64(c.AtRisk)
	})
}

func perCheck(f func(stats.DeadCheck) bool) Alarm {
	return func(s Season) []bool {
		out := make([]bool, len(s.Checks))
		for i, c := range s.Checks {
			out[i] = f(c)
		}
		return out
	}
}

// learning is how many checks the textbook charts look at before they speak.
const learning = 5

// CChartRule compares each count with the c-chart of all counts before it; at
// least two dead.
func CChartRule() Alarm {
	return func(s Season) []bool {
		out := make([]bool, len(s.Checks))
		var sum float64
		for i, c := range s.Checks {
			if i >= learning {
				m := sum / float64(i)
				out[i] = c.Dead >= 2 && float64(c.Dead) > m+3*math.Sqrt(m)
			}
			sum += float64(c.Dead)
		}
		return out
	}
}

// MovingRule compares each count with mean + 3 sd of the seven before it; at
// least two dead.
func MovingRule() Alarm {
	const window = 7
	return func(s Season) []bool {
		out := make([]bool, len(s.Checks))
		for i := window; i < len(s.Checks); i++ {
			var sum, square float64
			for _, c := range s.Checks[i-window : i] {
				sum += float64(c.Dead)
				square += float64(c.Dead * c.Dead)
			}
			m := sum / window
			sd := math.Sqrt(math.Max(0, (square-window*m*m)/(window-1)))
			d := float64(s.Checks[i].Dead)
			out[i] = d >= 2 && d > m+3*sd
		}
		return out
	}
}

// PoissonCUSUM adds dead minus k times expected, k > 1, and speaks (and starts
// anew) at h.
func PoissonCUSUM(k, h float64) Alarm {
	return func(s Season) []bool {
		out := make([]bool, len(s.Checks))
		sum := 0.0
		for i, c := range s.Checks {
			sum = math.Max(0, sum+float64(c.Dead)-k*float64(c.AtRisk)*c.RateSum)
			if sum >= h {
				out[i], sum = true, 0
			}
		}
		return out
	}
}
