package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// checkCount says whether x of n at the given level makes sense: 0 <= x <= n,
// n >= 1, 0 < level < 1.
func checkCount(x, n int, level float64) error {
	if n < 1 || x < 0 || x > n {
		return fmt.Errorf("%w: %d of %d", ErrInput, x, n)
	}
	return checkLevel(level)
}

func checkLevel(level float64) error {
	if !(level > 0 && level < 1) {
		return fmt.Errorf("%w: level %v", ErrInput, level)
	}
	return nil
}

// NormalQuantile returns the standard normal quantile of p in (0, 1).
func NormalQuantile(p float64) float64 { return mathext.NormalQuantile(p) }

// twoSidedZ is the standard normal quantile for a central interval.
func twoSidedZ(level float64) float64 { return mathext.NormalQuantile((1 + level) / 2) }

// ClopperPearson returns the exact binomial interval for x of n at a two-sided
// level such as 0.95: lower = Beta(alpha/2; x, n-x+1), upper = Beta(1-alpha/2;
// x+1, n-x), with 0 and 1 at the ends. Wide; for exact statements.
// Source: Clopper and Pearson 1934, Biometrika 26:404-413.
func ClopperPearson(x, n int, level float64) (Interval, error) {
	if err := checkCount(x, n, level); err != nil {
		return Interval{}, err
	}
	tail := (1 - level) / 2
	iv := Interval{Lower: 0, Upper: 1}
	if x > 0 {
		iv.Lower = mathext.InvRegIncBeta(float64(x), float64(n-x+1), tail)
	}
	if x < n {
		iv.Upper = mathext.InvRegIncBeta(float64(x+1), float64(n-x), 1-tail)
	}
	return iv, nil
}

// WilsonEffective is the Wilson interval on x/phi of n/phi: deaths that come in
// clumps carry less information than their number, and phi (>= 1, usually 2)
// says how much less. Source: effective sample size; its coverage was checked
// by simulation only.
func WilsonEffective(x, n int, phi, level float64) (Interval, error) {
	if err := checkCount(x, n, level); err != nil {
		return Interval{}, err
	}
	if !(phi >= 1) || math.IsInf(phi, 1) {
		return Interval{}, fmt.Errorf("%w: dispersion %v", ErrInput, phi)
	}
	return wilsonZ(float64(x)/phi, float64(n)/phi, twoSidedZ(level)), nil
}

// wilsonZ is the Wilson interval for real x of n and a normal quantile z.
func wilsonZ(x, n, z float64) Interval {
	p, z2 := x/n, z*z
	mid := p + z2/(2*n)
	half := z * math.Sqrt(p*(1-p)/n+z2/(4*n*n))
	iv := Interval{Lower: (mid - half) / (1 + z2/n), Upper: (mid + half) / (1 + z2/n)}
	// At the ends the limits are exactly 0 and 1; rounding must not say less.
	if x <= 0 {
		iv.Lower = 0
	}
	if x >= n {
		iv.Upper = 1
	}
	return iv
}

// ZeroEventsUpper returns the one-sided upper limit of a chance of which
// nothing was seen in n >= 1 trials: 1 - (1-level)^(1/n).
func ZeroEventsUpper(n int, level float64) (float64, error) {
	if err := checkCount(0, n, level); err != nil {
		return 0, err
	}
	return -math.Expm1(math.Log1p(-level) / float64(n)), nil
}

// Shrunk returns the mean and the central interval of the posterior
// Beta(x+a, n-x+b) of a survival when the programme's tanks follow Beta(a, b).
// a and b must be > 0. Source: beta-binomial conjugacy.
func Shrunk(x, n int, a, b, level float64) (mean float64, iv Interval, err error) {
	if err := checkCount(x, n, level); err != nil {
		return 0, Interval{}, err
	}
	if !(a > 0 && b > 0) {
		return 0, Interval{}, fmt.Errorf("%w: prior %v, %v", ErrInput, a, b)
	}
	beta := distuv.Beta{Alpha: float64(x) + a, Beta: float64(n-x) + b}
	iv = Interval{Lower: beta.Quantile((1 - level) / 2), Upper: beta.Quantile((1 + level) / 2)}
	return beta.Mean(), iv, nil
}
