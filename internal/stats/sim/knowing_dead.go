package sim

import (
	"math"
	"math/rand/v2"
	"slices"
)

// KnowOutbreak is the best possible test of an outbreak, by the lemma of Neyman and
// Pearson: it knows the day on which it begins, its rate and doubling, and what is
// usual for the tank on each day, and it finds the dead of each day on that day. It
// returns the share of n seasons in which it speaks by the given day of the outbreak,
// when it speaks in a share alpha of those without one. No rule that speaks as seldom
// in those days can be sooner; a real rule knows none of this.
func KnowOutbreak(b Batch, days int, alpha float64, n int, seed uint64) float64 {
	rng := rand.New(rand.NewPCG(seed, 79))
	quiet, ill := make([]float64, n), make([]float64, n)
	for i := range n {
		eggs, hatch, swim, _, usual := b.season(rng)
		begins := b.Trouble.begins(rng, hatch, swim)
		for t := range days {
			mean, more := usual[begins+t], b.Trouble.mean(t, eggs)
			quiet[i] += ratio(negativeBinomial(rng, mean), mean, more)
			ill[i] += ratio(negativeBinomial(rng, mean)+poissonOf(rng, more), mean, more)
		}
	}
	slices.Sort(quiet)
	limit := quiet[n-max(1, int(alpha*float64(n)))]
	told := 0
	for _, v := range ill {
		if v >= limit {
			told++
		}
	}
	return float64(told) / float64(n)
}

// ratio is the logarithm of how much likelier x dead are with the outbreak than
// without.
func ratio(x int, usual, more float64) float64 {
	with := 0.0
	for k := range x + 1 {
		with += math.Exp(logNegativeBinomial(k, usual) + logPoisson(x-k, more))
	}
	return math.Log(math.Max(with, 1e-300)) - math.Max(logNegativeBinomial(x, usual), -600)
}

func logPoisson(x int, mean float64) float64 {
	g, _ := math.Lgamma(float64(x) + 1)
	return float64(x)*math.Log(mean) - mean - g
}

func logNegativeBinomial(x int, mean float64) float64 {
	if mean <= 0 {
		if x == 0 {
			return 0
		}
		return math.Inf(-1)
	}
	a, _ := math.Lgamma(float64(x) + clumping)
	c, _ := math.Lgamma(clumping)
	g, _ := math.Lgamma(float64(x) + 1)
	return a - c - g + clumping*math.Log(clumping/(clumping+mean)) + float64(x)*math.Log(mean/(clumping+mean))
}
