// Functions of handbooks that no page needs; published rows hold them, and they
// hold others.

package stats

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// solveARL solves L = 1 + K L.
func solveARL(kernel *mat.Dense) ([]float64, error) {
	n, _ := kernel.Dims()
	a, ones := mat.NewDense(n, n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		ones.SetVec(i, 1)
		for j := range n {
			v := -kernel.At(i, j)
			if i == j {
				v++
			}
			a.Set(i, j, v)
		}
	}
	var x mat.VecDense
	if err := x.SolveVec(a, ones); err != nil {
		return nil, fmt.Errorf("average run length: %w", err)
	}
	return x.RawVector().Data, nil
}

// cusumARLHigh returns the average run length of the upper sum, started at 0
// and at headStart: L(z) = 1 + L(0) Phi(k-z-shift) + int_0^h L(x) phi(x+k-z-shift) dx.
func cusumARLHigh(k, h, shift, headStart float64) (zero, head float64, err error) {
	x, w := make([]float64, arlNodes), make([]float64, arlNodes)
	quad.Legendre{}.FixedLocations(x, w, 0, h)
	norm := distuv.UnitNormal
	row := func(z float64, set func(j int, v float64)) {
		set(0, norm.CDF(k-z-shift))
		for j := range x {
			set(j+1, w[j]*norm.Prob(x[j]+k-z-shift))
		}
	}
	kernel := mat.NewDense(arlNodes+1, arlNodes+1, nil)
	row(0, func(j int, v float64) { kernel.Set(0, j, v) })
	for i, z := range x {
		row(z, func(j int, v float64) { kernel.Set(i+1, j, v) })
	}
	l, err := solveARL(kernel)
	if err != nil {
		return 0, 0, err
	}
	head = 1
	row(headStart, func(j int, v float64) { head += v * l[j] })
	return l[0], head, nil
}

// CUSUMARL returns the average number of points until one of the two tabular
// sums of standard normal values, moved by shift, exceeds h (> 0). Both sums
// start at headStart in [0, h).
// Source: Page's integral equation, two sides joined after Lucas and Crosier
// 1982, Technometrics 24:199-205.
func CUSUMARL(k, h, shift, headStart float64) (float64, error) {
	if !(h > 0 && headStart >= 0 && headStart < h && k >= 0) {
		return 0, fmt.Errorf("%w: k %v h %v head start %v", ErrInput, k, h, headStart)
	}
	up0, up, err := cusumARLHigh(k, h, shift, headStart)
	if err != nil {
		return 0, err
	}
	down0, down, err := cusumARLHigh(k, h, -shift, headStart)
	if err != nil {
		return 0, err
	}
	return (up*down0 + down*up0 - up0*down0) / (up0 + down0), nil
}

// EWMAARL returns the average number of points until an EWMA of standard normal
// values, moved by shift and started at 0, leaves +-width*sqrt(lambda/(2-lambda)).
// lambda in (0, 1], width > 0. Source: integral equation, Lucas and Saccucci
// 1990, Technometrics 32:1-12.
func EWMAARL(lambda, width, shift float64) (float64, error) {
	if !(lambda > 0 && lambda <= 1 && width > 0) {
		return 0, fmt.Errorf("%w: lambda %v width %v", ErrInput, lambda, width)
	}
	c := width * math.Sqrt(lambda/(2-lambda))
	x, w := make([]float64, arlNodes), make([]float64, arlNodes)
	quad.Legendre{}.FixedLocations(x, w, -c, c)
	density := func(from, to float64) float64 {
		return distuv.UnitNormal.Prob((to-(1-lambda)*from)/lambda-shift) / lambda
	}
	kernel := mat.NewDense(arlNodes, arlNodes, nil)
	for i := range x {
		for j := range x {
			kernel.Set(i, j, w[j]*density(x[i], x[j]))
		}
	}
	l, err := solveARL(kernel)
	if err != nil {
		return 0, err
	}
	arl := 1.0
	for j := range x {
		arl += w[j] * density(0, x[j]) * l[j]
	}
	return arl, nil
}

// PoissonCUSUMARL returns the average number of counts until
// S = max(0, S + x - k) reaches h, for Poisson counts of mean lambda > 0 and
// whole k >= 0, h >= 1, started at headStart in 0..h-1. Exact Markov chain.
// Source: Lucas 1985, Technometrics 27:129-144.
func PoissonCUSUMARL(h, k int, lambda float64, headStart int) (float64, error) {
	if h < 1 || k < 0 || headStart < 0 || headStart >= h || !(lambda > 0) {
		return 0, fmt.Errorf("%w: h %d k %d lambda %v head start %d", ErrInput, h, k, lambda, headStart)
	}
	pois := distuv.Poisson{Lambda: lambda}
	kernel := mat.NewDense(h, h, nil)
	for from := range h {
		kernel.Set(from, 0, 1-PoissonTail(k-from+1, lambda))
		for to := 1; to < h; to++ {
			if x := to - from + k; x >= 0 {
				kernel.Set(from, to, pois.Prob(float64(x)))
			}
		}
	}
	l, err := solveARL(kernel)
	if err != nil {
		return 0, err
	}
	return l[headStart], nil
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

// BinomialLimits is Funnel.Limits when tanks differ by luck alone: exact
// binomial, without interpolation.
func BinomialLimits(centre float64, start int, level float64) (lower, upper int) {
	return BinomialQuantile((1-level)/2, start, centre), BinomialQuantile((1+level)/2, start, centre)
}

// Wilson returns the score interval for x of n:
// (p + z^2/2n +- z sqrt(p(1-p)/n + z^2/4n^2)) / (1 + z^2/n).
// Source: Wilson 1927, JASA 22:209-212.
func Wilson(x, n int, level float64) (Interval, error) {
	return WilsonEffective(x, n, 1, level)
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

// RuleOfThree is the short form of ZeroEventsUpper at 95 %: about 3/n, for
// n >= 1 (never more than 1). Source: ln 0.05 = -2.996.
func RuleOfThree(n int) float64 { return math.Min(1, 3/float64(n)) }

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

// MultiplierPosterior returns the Gamma(a, b) of a tank's own multiplier after
// dead found against expected, each divided by phi, with its mean and central
// interval. All arguments > 0 but dead and expected, which are >= 0.
// Source: gamma-Poisson conjugacy with weight 1/phi.
func MultiplierPosterior(a0, b0, dead, expected, phi, level float64) (a, b, mean float64, iv Interval, err error) {
	if !(a0 > 0 && b0 > 0 && phi > 0 && dead >= 0 && expected >= 0) {
		return 0, 0, 0, Interval{}, fmt.Errorf("%w: %v %v %v %v %v", ErrInput, a0, b0, dead, expected, phi)
	}
	if err := checkLevel(level); err != nil {
		return 0, 0, 0, Interval{}, err
	}
	a, b = a0+dead/phi, b0+expected/phi
	gamma := distuv.Gamma{Alpha: a, Beta: b}
	iv = Interval{Lower: gamma.Quantile((1 - level) / 2), Upper: gamma.Quantile((1 + level) / 2)}
	return a, b, a / b, iv, nil
}

// PoissonTail returns P(X >= x) of a Poisson with mean mu >= 0. The incomplete
// gamma keeps far tails that 1 - CDF would round to 0.
func PoissonTail(x int, mu float64) float64 {
	if x <= 0 {
		return 1
	}
	if mu <= 0 {
		return 0
	}
	return mathext.GammaIncReg(float64(x), mu)
}

// PoissonQuantile returns the smallest q with P(X <= q) >= p, 0 <= p < 1.
func PoissonQuantile(p, mu float64) int {
	return searchUp(-1, func(q int) bool { return PoissonTail(q+1, mu) <= 1-p })
}

// BinomialTail returns P(X >= x) for n trials with chance p in [0, 1].
func BinomialTail(x, n int, p float64) float64 {
	switch {
	case x <= 0:
		return 1
	case x > n || p <= 0:
		return 0
	case p >= 1:
		return 1
	}
	return mathext.RegIncBeta(float64(x), float64(n-x+1), p)
}

// BinomialQuantile returns the smallest q in 0..n with P(X <= q) >= prob.
func BinomialQuantile(prob float64, n int, p float64) int {
	dist := distuv.Binomial{N: float64(n), P: p}
	return bisect(-1, n, func(q int) bool { return q >= n || dist.CDF(float64(q)) >= prob })
}

// BetaBinomialTail returns P(X >= x), from the mirrored distribution so that a
// small upper tail is not lost by subtraction.
func BetaBinomialTail(x, n int, a, b float64) float64 {
	return BetaBinomialCDF(n-x, n, b, a)
}

// PearsonDispersion returns sum((x-mu)^2/mu)/(n-1) for counts x with
// expectations mu > 0; about 1 when the counts are Poisson. It needs two
// counts or more. Source: McCullagh and Nelder 1989.
func PearsonDispersion(x []int, mu []float64) (float64, error) {
	if len(x) != len(mu) || len(x) < 2 {
		return 0, fmt.Errorf("%w: %d counts, %d expectations", ErrInput, len(x), len(mu))
	}
	var sum float64
	for i, m := range mu {
		if !(m > 0) {
			return 0, fmt.Errorf("%w: expectation %v", ErrInput, m)
		}
		d := float64(x[i]) - m
		sum += d * d / m
	}
	return sum / float64(len(x)-1), nil
}
