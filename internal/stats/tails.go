package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// PredictiveTail returns P(X >= x) of the negative binomial with mean mu >= 0
// and variance mu*phi + mu^2/a: the dead found at a check when the tank's
// multiplier has a Gamma(a, b) distribution and deaths are phi times as
// scattered as Poisson. Size r = mu/((phi-1) + mu/a); tail I_{mu/(r+mu)}(x, r).
// phi >= 1, a > 0. Source: gamma-Poisson mixture; regularised incomplete beta.
func PredictiveTail(x int, mu, phi, a float64) float64 {
	if x <= 0 {
		return 1
	}
	if mu <= 0 {
		return 0
	}
	// mu/(r+mu) = d/(1+d) with d = mu/r: stays exact when mu is tiny.
	d := (phi - 1) + mu/a
	return mathext.RegIncBeta(float64(x), mu/d, d/(1+d))
}

// PredictiveQuantile returns the smallest q with P(X <= q) >= p, 0 <= p < 1,
// for the distribution of PredictiveTail.
func PredictiveQuantile(p, mu, phi, a float64) int {
	return SmallestUnusual(mu, phi, a, 1-p, 1) - 1
}

// SmallestUnusual returns the smallest count x >= minCount with
// P(X >= x) <= alpha, 0 < alpha <= 1, for the distribution of PredictiveTail.
func SmallestUnusual(mu, phi, a, alpha float64, minCount int) int {
	unusual := func(x int) bool { return PredictiveTail(x, mu, phi, a) <= alpha }
	if unusual(minCount) {
		return minCount
	}
	return searchUp(minCount, unusual)
}

// maxCount ends every search for a count; an int of 32 bits holds it.
const maxCount = 1 << 30

// searchUp returns the smallest integer above lo for which ok holds, when ok is
// false at lo and changes once; maxCount when it never does.
func searchUp(lo int, ok func(int) bool) int {
	hi := 2*max(lo, 0) + 1
	for !ok(hi) {
		if hi >= maxCount {
			return maxCount
		}
		lo, hi = hi, 2*hi
	}
	return bisect(lo, hi, ok)
}

// bisect returns the smallest integer in (lo, hi] for which ok holds, when ok
// is false at lo, true at hi, and changes once.
func bisect(lo, hi int, ok func(int) bool) int {
	for hi-lo > 1 {
		mid := lo + (hi-lo)/2
		if ok(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}

// BetaBinomialCDF returns P(X <= x) for n trials whose chance is Beta(a, b),
// a, b > 0: the sum of at most n+1 terms, built from logarithms of
// P(k+1)/P(k) = (n-k)(a+k) / ((k+1)(b+n-k-1)).
func BetaBinomialCDF(x, n int, a, b float64) float64 {
	if x < 0 {
		return 0
	}
	if x >= n {
		return 1
	}
	var logP float64
	for i := range n {
		logP += math.Log((b + float64(i)) / (a + b + float64(i)))
	}
	sum := math.Exp(logP)
	for k := range x {
		fk := float64(k)
		rest := float64(n) - fk
		logP += math.Log(rest * (a + fk) / ((fk + 1) * (b + rest - 1)))
		sum += math.Exp(logP)
	}
	return math.Min(1, sum)
}

// BetaBinomialQuantile returns the smallest q in 0..n with P(X <= q) >= prob.
func BetaBinomialQuantile(prob float64, n int, a, b float64) int {
	return bisect(-1, n, func(q int) bool { return q >= n || BetaBinomialCDF(q, n, a, b) >= prob })
}
