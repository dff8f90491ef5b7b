package stats

import (
	"fmt"
	"math"
	"slices"
)

// WinsorFactor is E[min(|Z|, z0.9)^2] of a standard normal Z: what a tenth
// winsorised at each end leaves of the variance.
const WinsorFactor = 0.678655

// Fewest tanks, and fewest animals in each, for naming outliers.
// Common practice, no source.
const (
	FunnelMinTanks   = 20
	FunnelMinAnimals = 30
)

// GateLevel is the share of false names allowed at one of the four gates of a
// season (hatch, swim-up, mid-fry, release): 0.05 shared by four looks.
const GateLevel = 0.0125

// Funnel describes how the survival of comparable tanks scatters: beta-binomial
// with parameters A and B.
type Funnel struct {
	Centre float64 // survival of the middle tank
	Phi    float64 // over-dispersion, 1 = binomial
	Tau2   float64 // spread between tanks on the logit scale, variance
	Rho    float64 // correlation within a tank
	A, B   float64
}

// FitFunnel fits the funnel to alive[i] of start[i]. With y = ln((x+.5)/(n-x+.5)),
// m = logit^-1(median y), s^2 = 1/(n m (1-m)), z = (y - median)/s winsorised at
// its 10th and 90th percentile: phi = mean(z^2)/WinsorFactor, tau2 = max(0,
// (I phi - (I-1)) / (sum w - sum w^2/sum w)), w = 1/s^2, rho = max(1e-6,
// tau2 m (1-m)). Two tanks or more, each with start >= 1.
// Source: Spiegelhalter 2005, Stat. Med. 24:1185-1202; DerSimonian and Laird
// 1986; WinsorFactor is this project's own correction.
func FitFunnel(alive, start []int) (Funnel, error) {
	if len(alive) != len(start) || len(alive) < 2 {
		return Funnel{}, fmt.Errorf("%w: %d and %d tanks", ErrInput, len(alive), len(start))
	}
	y := make([]float64, len(alive))
	for i, x := range alive {
		if err := checkCount(x, start[i], 0.5); err != nil {
			return Funnel{}, fmt.Errorf("tank %d: %w", i, err)
		}
		y[i] = math.Log((float64(x) + 0.5) / (float64(start[i]-x) + 0.5))
	}
	mid := Median(y)
	m := 1 / (1 + math.Exp(-mid))
	z := make([]float64, len(y))
	var sumW, sumW2 float64
	for i := range y {
		w := float64(start[i]) * m * (1 - m)
		z[i] = (y[i] - mid) * math.Sqrt(w)
		sumW += w
		sumW2 += w * w
	}
	lo, hi := Quantile(z, 0.1), Quantile(z, 0.9)
	var square float64
	for _, v := range z {
		v = math.Min(hi, math.Max(lo, v))
		square += v * v
	}
	n := float64(len(z))
	f := Funnel{Centre: m, Phi: square / n / WinsorFactor}
	f.Tau2 = math.Max(0, (n*f.Phi-(n-1))/(sumW-sumW2/sumW))
	// A correlation of 1 or more has no beta distribution.
	f.Rho = math.Min(0.99, math.Max(1e-6, f.Tau2*m*(1-m)))
	f.A = m * (1 - f.Rho) / f.Rho
	f.B = (1 - m) * (1 - f.Rho) / f.Rho
	return f, nil
}

// LowP returns min(1, 2 P(X <= alive)): how rarely a tank like the others does
// this badly or worse. Doing well is never a concern.
func (f Funnel) LowP(alive, start int) float64 {
	return math.Min(1, 2*BetaBinomialCDF(alive, start, f.A, f.B))
}

// Limits returns the counts between which a tank of start animals lies at the
// given two-sided level, e.g. 0.95 and 0.998 for the two curves of the funnel.
func (f Funnel) Limits(start int, level float64) (lower, upper int) {
	return BetaBinomialQuantile((1-level)/2, start, f.A, f.B),
		BetaBinomialQuantile((1+level)/2, start, f.A, f.B)
}

// LowTanks returns the tanks (positions) that lie lower than luck explains, at
// false discovery rate q, and the fit. It names none, and the error wraps
// ErrTooFew, with fewer than FunnelMinTanks tanks or FunnelMinAnimals in one.
func LowTanks(alive, start []int, q float64) ([]int, Funnel, error) {
	f, err := FitFunnel(alive, start)
	if err != nil {
		return nil, Funnel{}, err
	}
	if least := slices.Min(start); len(start) < FunnelMinTanks || least < FunnelMinAnimals {
		return nil, f, fmt.Errorf("%w: %d tanks, %d animals in the smallest", ErrTooFew, len(start), least)
	}
	p := make([]float64, len(alive))
	for i := range p {
		p[i] = f.LowP(alive[i], start[i])
	}
	var low []int
	for i, adjusted := range BenjaminiHochberg(p) {
		if adjusted <= q {
			low = append(low, i)
		}
	}
	return low, f, nil
}

// BenjaminiHochberg returns the adjusted p-values in the order given: those at
// most q may be named with at most a share q of false names.
// Source: Benjamini and Hochberg 1995, JRSS B 57:289-300.
func BenjaminiHochberg(p []float64) []float64 {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		switch {
		case p[a] < p[b]:
			return -1
		case p[a] > p[b]:
			return 1
		}
		return 0
	})
	out := make([]float64, len(p))
	least := 1.0
	for rank := len(p); rank >= 1; rank-- {
		i := order[rank-1]
		least = math.Min(least, p[i]*float64(len(p))/float64(rank))
		out[i] = least
	}
	return out
}
