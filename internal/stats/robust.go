package stats

import (
	"fmt"
	"math"
	"slices"
)

// Quantile returns the type-7 quantile (the default of R and NumPy): linear
// between order statistics at position (n-1)p. p in [0, 1]; NaN for no values.
// Source: Hyndman and Fan 1996, Am. Stat. 50:361-365 (from memory).
func Quantile(x []float64, p float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	s := slices.Sorted(slices.Values(x))
	return quantileSorted(s, p)
}

func quantileSorted(s []float64, p float64) float64 {
	h := float64(len(s)-1) * p
	i := int(math.Floor(h))
	if i >= len(s)-1 {
		return s[len(s)-1]
	}
	return s[i] + (h-float64(i))*(s[i+1]-s[i])
}

// Median returns the middle value, or the mean of the two middle ones; NaN for
// no values.
func Median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	s := slices.Sorted(slices.Values(x))
	m := len(s) / 2
	if len(s)%2 == 1 {
		return s[m]
	}
	return (s[m-1] + s[m]) / 2
}

// Mean returns the arithmetic mean; NaN for no values.
func Mean(x []float64) float64 {
	var sum float64
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// MADToSigma turns a MAD into the standard deviation of a normal: 1/Phi^-1(3/4).
const MADToSigma = 1.4826

// MAD returns the median of the absolute distances from the median, unscaled.
// Source: Hampel 1974, JASA 69:383-393.
func MAD(x []float64) float64 {
	m := Median(x)
	d := make([]float64, len(x))
	for i, v := range x {
		d[i] = math.Abs(v - m)
	}
	return Median(d)
}

// Hampel marks values further than k scaled MADs from the median of the values
// within half positions on both sides (shorter at the ends); k is usually 3.
// A window whose MAD is 0 marks every value off its median.
// Source: Hampel 1974; k = 3 is common practice, no source.
func Hampel(x []float64, half int, k float64) []bool {
	out := make([]bool, len(x))
	for i, v := range x {
		w := x[max(0, i-half):min(len(x), i+half+1)]
		out[i] = math.Abs(v-Median(w)) > k*MADToSigma*MAD(w)
	}
	return out
}

// Slope is a robust line through points.
type Slope struct {
	PerUnit   float64  // median of all pairwise slopes
	Intercept float64  // median(y) - slope * median(t)
	Interval  Interval // of the slope, at the level asked for
}

// TheilSen returns the median of (y_j-y_i)/(t_j-t_i) over all pairs with
// different t, and Sen's rank interval with the variance corrected for ties.
// It needs two or more points with two or more different t.
// Source: Theil 1950; Sen 1968, JASA 63:1379-1389.
func TheilSen(t, y []float64, level float64) (Slope, error) {
	if len(t) != len(y) || len(t) < 2 {
		return Slope{}, fmt.Errorf("%w: %d times, %d values", ErrInput, len(t), len(y))
	}
	if err := checkLevel(level); err != nil {
		return Slope{}, err
	}
	var slopes []float64
	for i := range t {
		for j := range t {
			if t[j] > t[i] {
				slopes = append(slopes, (y[j]-y[i])/(t[j]-t[i]))
			}
		}
	}
	if len(slopes) == 0 {
		return Slope{}, fmt.Errorf("%w: all times are equal", ErrInput)
	}
	slices.Sort(slopes)
	med := Median(slopes)

	n, pairs := float64(len(y)), float64(len(slopes))
	variance := (n*(n-1)*(2*n+5) - tieTerm(t) - tieTerm(y)) / 18
	reach := twoSidedZ(level) * math.Sqrt(math.Max(0, variance))
	upper := min(int(math.RoundToEven((pairs+reach)/2)), len(slopes)-1)
	lower := max(int(math.RoundToEven((pairs-reach)/2))-1, 0)
	return Slope{
		PerUnit:   med,
		Intercept: Median(y) - med*Median(t),
		Interval:  Interval{Lower: slopes[lower], Upper: slopes[upper]},
	}, nil
}

// tieTerm returns the sum of k(k-1)(2k+5) over groups of k equal values.
func tieTerm(x []float64) float64 {
	s := slices.Sorted(slices.Values(x))
	var sum float64
	for i := 0; i < len(s); {
		j := i
		for j < len(s) && s[j] == s[i] {
			j++
		}
		k := float64(j - i)
		sum += k * (k - 1) * (2*k + 5)
		i = j
	}
	return sum
}
