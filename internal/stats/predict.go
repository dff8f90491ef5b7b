package stats

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// ConformalRank returns ceil((n+1)*level): the rank, from 1, of the sorted past
// errors that serves as half width; ok is false when n errors are too few.
// Source: Lei et al. 2018, JASA 113:1094-1111 (split conformal).
func ConformalRank(n int, level float64) (rank int, ok bool) {
	// The small step keeps a product like 20*0.95 from rounding up.
	rank = int(math.Ceil(float64(n+1)*level - 1e-9))
	return rank, rank >= 1 && rank <= n
}

// ConformalHalfWidth returns the half width that covers a share level of new
// errors like the past ones. Signs are ignored. With too few errors the error
// wraps ErrTooFew; use from 10 on.
func ConformalHalfWidth(pastErrors []float64, level float64) (float64, error) {
	if err := checkLevel(level); err != nil {
		return 0, err
	}
	rank, ok := ConformalRank(len(pastErrors), level)
	if !ok {
		return 0, fmt.Errorf("%w: %d past errors at level %v", ErrTooFew, len(pastErrors), level)
	}
	sizes := make([]float64, len(pastErrors))
	for i, e := range pastErrors {
		sizes[i] = math.Abs(e)
	}
	slices.Sort(sizes)
	return sizes[rank-1], nil
}

// CRPSNormal scores the forecast Normal(mu, sd), sd > 0, when y happened, in
// the unit of y; smaller is better: sd (z(2 Phi(z)-1) + 2 phi(z) - 1/sqrt(pi)).
// Source: Gneiting and Raftery 2007, JASA 102:359-378.
func CRPSNormal(mu, sd, y float64) float64 {
	z := (y - mu) / sd
	n := distuv.UnitNormal
	return sd * (z*(2*n.CDF(z)-1) + 2*n.Prob(z) - 1/math.Sqrt(math.Pi))
}

// IntervalScore scores a central 1-alpha interval when y happened:
// (u-l) + (2/alpha)(l-y)+ + (2/alpha)(y-u)+; smaller is better.
// Source: Gneiting and Raftery 2007.
func IntervalScore(iv Interval, y, alpha float64) float64 {
	return iv.Upper - iv.Lower + 2/alpha*(math.Max(0, iv.Lower-y)+math.Max(0, y-iv.Upper))
}

// StudentTQuantile returns the p quantile of Student's t with df > 0 degrees of
// freedom: for means of a few seasons.
func StudentTQuantile(p, df float64) float64 {
	return distuv.StudentsT{Sigma: 1, Nu: df}.Quantile(p)
}

// UnitsForecast is what is known about a stage that needs a sum of units (such
// as degree-days) in daily readings.
type UnitsForecast struct {
	Need, NeedSD  float64 // units needed, and their spread over batches
	Have, HaveSD  float64 // units had, and the error of those before delivery
	PerDay        float64 // units per day now: mean of the last 7 readings, > 0
	ElapsedDays   float64 // days measured with this thermometer so far
	BiasSD, DaySD float64 // thermometer bias; scatter of daily water temperature
	Rho           float64 // correlation of neighbouring days, [0, 1)
}

// DaysLeft returns the expected days left n = (Need-Have)/PerDay (0 when past)
// and their standard deviation, whose variance is [NeedSD^2 + HaveSD^2 +
// (BiasSD (elapsed+n))^2 + n^2 (v(n)+v(7))] / PerDay^2, v as MeanVariance.
// Source: propagation of error; parts judged by simulation.
func (f UnitsForecast) DaysLeft() (days, sd float64, err error) {
	if !(f.PerDay > 0 && f.Rho >= 0 && f.Rho < 1 && f.ElapsedDays >= 0) {
		return 0, 0, fmt.Errorf("%w: %+v", ErrInput, f)
	}
	days = math.Max(0, (f.Need-f.Have)/f.PerDay)
	bias := f.BiasSD * (f.ElapsedDays + days)
	variance := f.NeedSD*f.NeedSD + f.HaveSD*f.HaveSD + bias*bias
	if days > 0 {
		variance += days * days * (MeanVariance(f.DaySD, f.Rho, days) + MeanVariance(f.DaySD, f.Rho, 7))
	}
	return days, math.Sqrt(variance) / f.PerDay, nil
}

// Range returns the central interval of the days left: n +- (z sd + 0.5); half
// a day because events are seen at daily checks.
func (f UnitsForecast) Range(level float64) (Interval, error) {
	if err := checkLevel(level); err != nil {
		return Interval{}, err
	}
	days, sd, err := f.DaysLeft()
	if err != nil {
		return Interval{}, err
	}
	half := twoSidedZ(level)*sd + 0.5
	return Interval{Lower: days - half, Upper: days + half}, nil
}

// MeanVariance returns the variance of the mean of n > 0 days of a first-order
// autoregressive series with standard deviation s and correlation rho in [0, 1):
// s^2 (1+rho)/(1-rho)/n (1 - 2 rho (1-rho^n)/(n (1-rho^2))).
func MeanVariance(s, rho, n float64) float64 {
	v := s * s * (1 + rho) / (1 - rho) / n * (1 - 2*rho*(1-math.Pow(rho, n))/(n*(1-rho*rho)))
	return math.Max(0, v)
}

// NotYetQuantile returns the p quantile of Normal(mean, sd), sd > 0, given that
// it has not happened before from: for a hatch that is still awaited.
func NotYetQuantile(mean, sd, from, p float64) float64 {
	// Upper tails, so that a date long past still gives a finite answer.
	left := distuv.UnitNormal.Survival((from - mean) / sd)
	tail := left * (1 - p)
	if tail < 1e-300 {
		return from
	}
	return math.Max(from, mean-sd*mathext.NormalQuantile(tail))
}
