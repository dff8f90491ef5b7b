package sim

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"reddside/internal/stats"
)

// Knowing is the best possible test of one trouble against another (or nothing): it
// knows when it began and what it looks like, the offset, spread and correlation of
// the tank, and it reads the thermometer without rounding. By the lemma of Neyman and
// Pearson no rule that speaks as seldom when the other is true speaks more often. A
// real rule knows none of this.
type Knowing struct {
	apart []float64 // by season: standard deviations between the two
}

// Know draws n seasons and works out how far the first k readings of the trouble tell
// it from the other.
func Know(b Basin, trouble, other Trouble, k, n int, seed uint64) Knowing {
	rng := rand.New(rand.NewPCG(seed, 0x9e3779b97f4a7c15))
	out := Knowing{apart: make([]float64, n)}
	for i := range out.apart {
		out.apart[i] = b.Draw(rng, trouble).apart(trouble, other, k)
	}
	return out
}

// apart is the distance between two means of the first k readings after the trouble
// began, given all before. The Kalman filter of a first-order autoregression read with
// error gives independent innovations; a mean passes through the same filter.
func (s TempSeason) apart(trouble, other Trouble, k int) float64 {
	state, mean, square := s.sd*s.sd, 0.0, 0.0 // variance, and the filtered difference of the means
	for i, l := range s.Looks {
		if s.From >= 0 && i >= s.From+k {
			break
		}
		if i > 0 {
			phi := math.Pow(s.rho, l.Day-s.Looks[i-1].Day)
			state, mean = phi*phi*state+s.sd*s.sd*(1-phi*phi), phi*mean
		}
		innovation := -mean
		if since := l.Day - float64(s.begins); since > 0 {
			innovation += (trouble.PerDay-other.PerDay)*since + trouble.Setpoint - other.Setpoint
		}
		variance := state + readingSD*readingSD
		square += innovation * innovation / variance
		gain := state / variance
		state, mean = state*(1-gain), mean+gain*innovation
	}
	return math.Sqrt(square)
}

// Reaches is how often it speaks of the trouble when it speaks of the other with the
// given probability. One limit of the likelihood ratio for all tanks is the best
// division of the false ones among them.
func (k Knowing) Reaches(alpha float64) float64 {
	share := func(limit, sign float64) float64 {
		sum := 0.0
		for _, d := range k.apart {
			if d > 0 {
				sum += distuv.UnitNormal.Survival(limit/d + sign*d/2)
			}
		}
		return sum / float64(len(k.apart))
	}
	low, high := -200.0, 200.0 // of the logarithm of the ratio
	for range 60 {
		if middle := (low + high) / 2; share(middle, 1) > alpha {
			low = middle
		} else {
			high = middle
		}
	}
	return share(high, -1)
}

// Needs is the smallest probability of speaking of the other with which it speaks of
// the trouble in the share wanted.
func (k Knowing) Needs(want float64) float64 {
	low, high := 0.0, 1.0
	for range 50 {
		if middle := (low + high) / 2; k.Reaches(middle) < want {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}

// KnowsTheTank is a rule that knows all of a tank but the day on which the trouble
// begins: spread, correlation, the errors of the thermometer, and that it warms by
// perDay. At each reading it adds the likelihood ratios of a rise that began before
// one of the last window readings (Shiryaev 1963 and Roberts 1966, from memory), both
// ways, and watches from limit on (of the logarithm). It is no rule for a real tank.
func KnowsTheTank(b Basin, perDay, limit float64, window int) TempAlarm {
	return func(s TempSeason) []stats.DeadFlag {
		out := make([]stats.DeadFlag, len(s.Looks))
		type rise struct{ start, mean, up, down float64 }
		var rises []rise
		state, level := s.sd*s.sd, 0.0 // variance and mean of the tank, given the readings before
		for i, l := range s.Looks {
			phi, start := 0.0, l.Day-1
			if i > 0 {
				start = s.Looks[i-1].Day
				phi = math.Pow(s.rho, l.Day-start)
				state, level = phi*phi*state+s.sd*s.sd*(1-phi*phi), phi*level
			}
			variance := state + readingSD*readingSD + b.Step*b.Step/12
			gain, error := state/variance, l.Celsius-l.Want-level
			rises = append(rises, rise{start: start})
			if len(rises) > window {
				rises = rises[1:]
			}
			sum := 0.0
			for j := range rises {
				r := &rises[j]
				r.mean *= phi
				shift := perDay*(l.Day-r.start) - r.mean
				r.up += (shift*error - shift*shift/2) / variance
				r.down += (-shift*error - shift*shift/2) / variance
				r.mean += gain * shift
				sum += math.Exp(r.up) + math.Exp(r.down)
			}
			level, state = level+gain*error, state*(1-gain)
			if math.Log(sum) >= limit {
				out[i] = stats.DeadWatch
			}
		}
		return out
	}
}
