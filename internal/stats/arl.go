package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// arlNodes is the number of Gauss-Legendre nodes of the integral equations.
const arlNodes = 60

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
