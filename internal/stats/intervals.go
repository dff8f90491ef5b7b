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

// Wilson returns the score interval for x of n:
// (p + z^2/2n +- z sqrt(p(1-p)/n + z^2/4n^2)) / (1 + z^2/n).
// Source: Wilson 1927, JASA 22:209-212.
func Wilson(x, n int, level float64) (Interval, error) {
	return WilsonEffective(x, n, 1, level)
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

// Jeffreys returns the equal-tailed interval of Beta(x+1/2, n-x+1/2), with
// lower = 0 at x = 0 and upper = 1 at x = n. For small n.
// Source: Brown, Cai and DasGupta 2001, Stat. Sci. 16:101-133.
func Jeffreys(x, n int, level float64) (Interval, error) {
	if err := checkCount(x, n, level); err != nil {
		return Interval{}, err
	}
	beta := distuv.Beta{Alpha: float64(x) + 0.5, Beta: float64(n-x) + 0.5}
	iv := Interval{Lower: 0, Upper: 1}
	if x > 0 {
		iv.Lower = beta.Quantile((1 - level) / 2)
	}
	if x < n {
		iv.Upper = beta.Quantile((1 + level) / 2)
	}
	return iv, nil
}

// Garwood returns the exact interval for the mean of a Poisson count x >= 0:
// Gamma(alpha/2; x, 1) to Gamma(1-alpha/2; x+1, 1).
// Source: Garwood 1936, Biometrika 28:437-442.
func Garwood(x int, level float64) (Interval, error) {
	if x < 0 {
		return Interval{}, fmt.Errorf("%w: count %d", ErrInput, x)
	}
	if err := checkLevel(level); err != nil {
		return Interval{}, err
	}
	tail := (1 - level) / 2
	iv := Interval{Upper: mathext.GammaIncRegInv(float64(x+1), 1-tail)}
	if x > 0 {
		iv.Lower = mathext.GammaIncRegInv(float64(x), tail)
	}
	return iv, nil
}

// ZeroEventsUpper returns the one-sided upper limit of a chance of which
// nothing was seen in n >= 1 trials: 1 - (1-level)^(1/n).
func ZeroEventsUpper(n int, level float64) (float64, error) {
	if err := checkCount(0, n, level); err != nil {
		return 0, err
	}
	return -math.Expm1(math.Log1p(-level) / float64(n)), nil
}

// RuleOfThree is the short form of ZeroEventsUpper at 95 %: about 3/n, for
// n >= 1 (never more than 1). Source: ln 0.05 = -2.996.
func RuleOfThree(n int) float64 { return math.Min(1, 3/float64(n)) }

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
