package stats

import (
	"fmt"
	"math"
)

// LifeEvent is what happened to a group of animals on one day.
type LifeEvent struct {
	Day     float64 // later than the event before it
	Dead    int
	Removed int // taken out alive on the same day, after the dead
	Added   int // taken in on the same day, before the dead
}

// SurvivalStep is the Kaplan-Meier curve from a day with deaths until the next.
type SurvivalStep struct {
	Day      float64
	AtRisk   int // alive just before
	Survival float64
	SE       float64
	// Interval holds the log-log limits. HasInterval is false when nobody is
	// left, where they do not exist.
	Interval    Interval
	HasInterval bool
}

// KaplanMeier returns S = prod(1 - d/n) at each day with deaths, its Greenwood
// standard error with the variance multiplied by phi (1 for independent
// animals, 2 for clumped deaths), and limits on log(-log S):
// S^exp(+-z se/(S |ln S|)). Deaths come before removals on the same day. Those
// added later count from their day on (delayed entry).
// Source: Kaplan and Meier 1958, JASA 53:457-481; Greenwood 1926.
func KaplanMeier(start int, events []LifeEvent, phi, level float64) ([]SurvivalStep, error) {
	if start < 1 || !(phi > 0) {
		return nil, fmt.Errorf("%w: start %d, dispersion %v", ErrInput, start, phi)
	}
	if err := checkLevel(level); err != nil {
		return nil, err
	}
	z := twoSidedZ(level)
	var steps []SurvivalStep
	alive, s, greenwood := start, 1.0, 0.0
	for i, e := range events {
		alive += e.Added
		if e.Dead < 0 || e.Removed < 0 || e.Added < 0 || e.Dead+e.Removed > alive || i > 0 &&
			!(e.Day > events[i-1].Day) {
			return nil, fmt.Errorf("event %d: %w: %+v of %d", i, ErrInput, e, alive)
		}
		if e.Dead > 0 {
			n, d := float64(alive), float64(e.Dead)
			step := SurvivalStep{Day: e.Day, AtRisk: alive}
			if e.Dead < alive {
				s *= 1 - d/n
				greenwood += d / (n * (n - d))
				relative := math.Sqrt(greenwood * phi)
				reach := z * relative / math.Abs(math.Log(s))
				step.Survival, step.SE, step.HasInterval = s, s*relative, true
				step.Interval = Interval{
					Lower: math.Pow(s, math.Exp(reach)),
					Upper: math.Pow(s, math.Exp(-reach)),
				}
			}
			steps = append(steps, step)
		}
		alive -= e.Dead + e.Removed
	}
	return steps, nil
}

// SurvivalBounds returns the range of the survival of a season whose animals do
// not all add up: lower = left alive/start, upper = (start - dead found)/start.
// start >= 1; leftAlive counts released, given away and sampled, and
// dead + leftAlive is at most start.
func SurvivalBounds(start, dead, leftAlive int) (Interval, error) {
	if start < 1 || dead < 0 || leftAlive < 0 || dead+leftAlive > start {
		return Interval{}, fmt.Errorf("%w: start %d, dead %d, alive %d", ErrInput, start, dead, leftAlive)
	}
	n := float64(start)
	return Interval{Lower: float64(leftAlive) / n, Upper: float64(start-dead) / n}, nil
}
