package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.10g, want %.10g", what, got, want)
	}
}

// Class text of the science notes S4 (computed there): 186 of 200 alive, phi 2,
// so 93 of 100 in effect, gives 86.3 to 96.6 %.
func TestClassExample(t *testing.T) {
	iv, err := WilsonEffective(186, 200, 2, 0.95)
	must(t, err)
	near(t, "lower", iv.Lower, 0.863, 0.0005)
	near(t, "upper", iv.Upper, 0.966, 0.0005)
}

// The one-sided exact limit for 0 of n solves (1-p)^n = 1-level.
func TestZeroEvents(t *testing.T) {
	for _, n := range []int{1, 20, 200, 5000} {
		p, err := ZeroEventsUpper(n, 0.95)
		must(t, err)
		near(t, "(1-p)^n", math.Pow(1-p, float64(n)), 0.05, 1e-9)
		if n >= 20 {
			near(t, "3/n", RuleOfThree(n)/p, 1, 0.08)
		}
	}
}

func TestIntervalsRefuse(t *testing.T) {
	for _, c := range []struct {
		x, n  int
		level float64
	}{{-1, 5, 0.95}, {6, 5, 0.95}, {0, 0, 0.95}, {1, 5, 0}, {1, 5, 1}, {1, 5, math.NaN()}} {
		for i, f := range []func(int, int, float64) (Interval, error){ClopperPearson, Wilson, Jeffreys} {
			if _, err := f(c.x, c.n, c.level); !errors.Is(err, ErrInput) {
				t.Errorf("%d %+v: %v", i, c, err)
			}
		}
	}
	if _, err := Garwood(-1, 0.95); !errors.Is(err, ErrInput) {
		t.Errorf("Garwood: %v", err)
	}
	if _, err := WilsonEffective(1, 5, 0.9, 0.95); !errors.Is(err, ErrInput) {
		t.Errorf("phi: %v", err)
	}
}

// The limits of Clopper and Pearson are those chances at which the count seen
// has a tail of alpha/2: checked with the binomial terms summed one by one.
func TestClopperPearsonIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 300).Draw(t, "n")
		x := rapid.IntRange(0, n).Draw(t, "x")
		iv, err := ClopperPearson(x, n, 0.95)
		if err != nil {
			t.Fatal(err)
		}
		sum := func(from, to int, p float64) float64 {
			var s float64
			for k := from; k <= to; k++ {
				a, _ := math.Lgamma(float64(n + 1))
				b, _ := math.Lgamma(float64(k + 1))
				c, _ := math.Lgamma(float64(n - k + 1))
				s += math.Exp(a - b - c + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
			}
			return s
		}
		if x > 0 && math.Abs(sum(x, n, iv.Lower)-0.025) > 1e-8 {
			t.Fatalf("lower %v", iv.Lower)
		}
		if x < n && math.Abs(sum(0, x, iv.Upper)-0.025) > 1e-8 {
			t.Fatalf("upper %v", iv.Upper)
		}
	})
}

// A quantile is the smallest count whose CDF reaches the level.
func TestQuantilesInvertTails(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.Float64Range(0.0005, 0.9995).Draw(t, "p")
		n := rapid.IntRange(1, 300).Draw(t, "n")
		share := rapid.Float64Range(0.01, 0.99).Draw(t, "share")
		mu := rapid.Float64Range(0.001, 40).Draw(t, "mu")
		a, b := rapid.Float64Range(0.5, 80).Draw(t, "a"), rapid.Float64Range(0.5, 80).Draw(t, "b")
		for name, c := range map[string]struct {
			q    int
			tail func(int) float64
		}{
			"binomial": {BinomialQuantile(p, n, share), func(x int) float64 { return BinomialTail(x, n, share) }},
			"poisson":  {PoissonQuantile(p, mu), func(x int) float64 { return PoissonTail(x, mu) }},
			"beta-binomial": {BetaBinomialQuantile(p, n, a, b),
				func(x int) float64 { return BetaBinomialTail(x, n, a, b) }},
			"predictive": {PredictiveQuantile(p, mu, 2, a),
				func(x int) float64 { return PredictiveTail(x, mu, 2, a) }},
		} {
			const slack = 1e-9
			if c.tail(c.q+1) > 1-p+slack || c.q > 0 && c.tail(c.q) < 1-p-slack {
				t.Fatalf("%s: q %d at p %v: tails %v, %v", name, c.q, p, c.tail(c.q), c.tail(c.q+1))
			}
		}
	})
}

// With a very large prior and phi near 1 the predictive is the Poisson.
func TestPredictiveTendsToPoisson(t *testing.T) {
	for _, x := range []int{1, 3, 8} {
		near(t, "ratio", PredictiveTail(x, 2.5, 1, 1e8)/PoissonTail(x, 2.5), 1, 1e-6)
	}
}

// Mean and variance of the predictive, by summing tails: sum P(X>=x) = mu and
// sum (2x-1) P(X>=x) = E X^2.
func TestPredictiveMoments(t *testing.T) {
	for _, c := range []struct{ mu, phi, a float64 }{{0.2, 2, 2}, {3, 2, 5}, {1.5, 3.5, 2}} {
		var mean, square float64
		for x := 1; x < 4000; x++ {
			p := PredictiveTail(x, c.mu, c.phi, c.a)
			mean += p
			square += float64(2*x-1) * p
		}
		near(t, "mean", mean, c.mu, 1e-8)
		near(t, "variance", square-mean*mean, c.mu*c.phi+c.mu*c.mu/c.a, 1e-7)
	}
}

// The tabular sums themselves must run as long as the integral equation (and
// Montgomery and Runger's table: 8.38 at a shift of 1) says.
func TestCUSUMRunsAsLongAsItsEquation(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	const runs = 20000
	x := make([]float64, 200)
	var total float64
	for range runs {
		for i := range x {
			x[i] = 10 + 1 + rng.NormFloat64()
		}
		high, low := CUSUM(x, 10, 0.5, 0)
		up, down := FirstBeyond(high, 4), FirstBeyond(low, 4)
		if up < 0 {
			t.Fatal("no alarm in 200 points")
		}
		if down >= 0 {
			up = min(up, down)
		}
		total += float64(up + 1)
	}
	near(t, "run length", total/runs, 8.38, 0.15)
}
