package stats

import (
	"fmt"
	"math"
)

// Chart holds centre line and control limits. A point is outside when it lies
// strictly beyond a limit.
type Chart struct {
	Centre, Upper, Lower float64
}

// Outside returns the positions (from 0) of the values beyond the limits.
func (c Chart) Outside(x []float64) []int {
	var out []int
	for i, v := range x {
		if v > c.Upper || v < c.Lower {
			out = append(out, i)
		}
	}
	return out
}

// PChart returns mean share +- 3 sqrt(p(1-p)/n), cut to [0, 1], for counts out
// of samples of equal size n. For teaching: deaths are rarer and more clumped
// than it assumes. Source: NIST/SEMATECH e-Handbook 6.3.3.2.
func PChart(counts []int, n int) (Chart, error) {
	if len(counts) == 0 || n < 1 {
		return Chart{}, fmt.Errorf("%w: %d samples of %d", ErrInput, len(counts), n)
	}
	p := meanCount(counts) / float64(n)
	if p < 0 || p > 1 {
		return Chart{}, fmt.Errorf("%w: mean share %v", ErrInput, p)
	}
	half := 3 * math.Sqrt(p*(1-p)/float64(n))
	return Chart{Centre: p, Upper: math.Min(1, p+half), Lower: math.Max(0, p-half)}, nil
}

// CChart returns mean count +- 3 sqrt(mean), never below 0. For teaching, like
// PChart. Source: NIST/SEMATECH e-Handbook 6.3.3.1.
func CChart(counts []int) (Chart, error) {
	if len(counts) == 0 {
		return Chart{}, fmt.Errorf("%w: no counts", ErrInput)
	}
	m := meanCount(counts)
	half := 3 * math.Sqrt(m)
	return Chart{Centre: m, Upper: m + half, Lower: math.Max(0, m-half)}, nil
}

func meanCount(x []int) float64 {
	var sum float64
	for _, v := range x {
		sum += float64(v)
	}
	return sum / float64(len(x))
}

// MovingRangeD2 is the mean range of two standard normal values, 2/sqrt(pi).
const MovingRangeD2 = 1.128

// MovingRange returns the mean absolute step between neighbours and the
// standard deviation it stands for (divided by MovingRangeD2). It needs two
// values or more.
func MovingRange(x []float64) (mean, sigma float64, err error) {
	if len(x) < 2 {
		return 0, 0, fmt.Errorf("%w: %d values", ErrInput, len(x))
	}
	for i := 1; i < len(x); i++ {
		mean += math.Abs(x[i] - x[i-1])
	}
	mean /= float64(len(x) - 1)
	return mean, mean / MovingRangeD2, nil
}

// IndividualsChart returns mean +- 3 sigma with sigma from MovingRange.
// Source: NIST/SEMATECH e-Handbook 6.3.2.2.
func IndividualsChart(x []float64) (Chart, error) {
	_, sigma, err := MovingRange(x)
	if err != nil {
		return Chart{}, err
	}
	m := Mean(x)
	return Chart{Centre: m, Upper: m + 3*sigma, Lower: m - 3*sigma}, nil
}

// EWMA returns z_i = lambda*x_i + (1-lambda)*z_(i-1) with z_0 = start and
// lambda in (0, 1]. Source: NIST/SEMATECH e-Handbook 6.3.2.4.
func EWMA(x []float64, start, lambda float64) []float64 {
	out := make([]float64, len(x))
	z := start
	for i, v := range x {
		z = lambda*v + (1-lambda)*z
		out[i] = z
	}
	return out
}

// EWMALimits returns target +- width*s*sqrt(lambda/(2-lambda)), the limits far
// from the start. Source: NIST/SEMATECH e-Handbook 6.3.2.4.
func EWMALimits(target, s, lambda, width float64) Chart {
	half := width * s * math.Sqrt(lambda/(2-lambda))
	return Chart{Centre: target, Upper: target + half, Lower: target - half}
}

// CUSUM returns the two tabular sums
//
//	high_i = max(0, high_(i-1) + x_i - target - k)
//	low_i  = max(0, low_(i-1) + target - x_i - k)
//
// both starting at headStart: 0, or half the alarm limit for a fast initial
// response. Source: NIST/SEMATECH e-Handbook 6.3.2.3; Lucas and Crosier 1982,
// Technometrics 24:199-205.
func CUSUM(x []float64, target, k, headStart float64) (high, low []float64) {
	high, low = make([]float64, len(x)), make([]float64, len(x))
	hi, lo := headStart, headStart
	for i, v := range x {
		hi = math.Max(0, hi+v-target-k)
		lo = math.Max(0, lo+target-v-k)
		high[i], low[i] = hi, lo
	}
	return high, low
}

// FirstBeyond returns the first position (from 0) at which a sum exceeds h, or
// -1 when none does.
func FirstBeyond(sums []float64, h float64) int {
	for i, s := range sums {
		if s > h {
			return i
		}
	}
	return -1
}
