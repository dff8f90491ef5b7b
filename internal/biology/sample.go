package biology

import (
	"math"

	"reddside/internal/units"
)

// Condition factors that are usual for salmonids: 0.71 is the lowest of the read
// pairs at first feeding, 1.2 the highest of fed fry and parr (from memory), each
// with a tenth more for a kitchen scale and a ruler (local choice). The pairs are
// Atlantic salmon; no table by species was found, so they serve all species.
const (
	UsualConditionLow  = 0.71 * 0.9
	UsualConditionHigh = ConditionHigh * 1.1
)

// FishScatter is the standard deviation of single weights as a share of the mean
// where fish were not weighed one by one. Common practice, no source.
const FishScatter = 0.2

// Weighing is what a sample says of the mean weight.
type Weighing struct {
	Fish int // how many were weighed
	Mean units.Grams
	Each []units.Grams // of each, when weighed one by one
}

// relativeError is the standard error of the mean weight as a share of it: from
// the fish themselves when there are at least three, else by FishScatter.
func (w Weighing) relativeError() float64 {
	scatter := FishScatter
	if n := len(w.Each); n >= 3 && w.Mean > 0 {
		sum := 0.0
		for _, x := range w.Each {
			d := float64(x - w.Mean)
			sum += d * d
		}
		scatter = math.Sqrt(sum/float64(n-1)) / float64(w.Mean)
	}
	return scatter / math.Sqrt(float64(max(w.Fish, 1)))
}

// Range80 is where the mean weight of all fish lies in eight cases of ten.
func (w Weighing) Range80() (low, high units.Grams) {
	k := units.Grams(math.Exp(z80 * w.relativeError()))
	return w.Mean / k, w.Mean * k
}

// Rate is a growth rate in % of body weight a day, with the range of eight cases
// in ten.
type Rate struct{ PerDay, Low, High float64 }

// GrowthRate returns the specific growth rate 100 (ln W2 - ln W1)/days between
// two samples, from 1 to 366 days apart. Its doubt is that of both means.
func GrowthRate(before, after Weighing, days int) (Rate, error) {
	for _, w := range []Weighing{before, after} {
		if err := units.CheckRange("fish_weight", w.Mean, 0.01, 10000, "g"); err != nil {
			return Rate{}, err
		}
	}
	if err := units.CheckRange("days", float64(days), 1, 366, "d"); err != nil {
		return Rate{}, err
	}
	rate := 100 * math.Log(float64(after.Mean/before.Mean)) / float64(days)
	half := 100 * z80 * math.Hypot(before.relativeError(), after.relativeError()) / float64(days)
	return Rate{PerDay: rate, Low: rate - half, High: rate + half}, nil
}

// SampleCondition returns Fulton's factor of fish weighed together: the mean
// weight over the mean of the cubed lengths, so that long fish count as they
// weigh. It needs at least one length.
func SampleCondition(mean units.Grams, lengths []units.Millimetres) (float64, error) {
	if err := units.CheckRange("lengths", float64(len(lengths)), 1, 1e6, ""); err != nil {
		return 0, err
	}
	cubes := 0.0
	for _, l := range lengths {
		if err := units.CheckRange("length", l, 10, 1000, "mm"); err != nil {
			return 0, err
		}
		cubes += math.Pow(float64(l), 3)
	}
	return Condition(mean, units.Millimetres(math.Cbrt(cubes/float64(len(lengths)))))
}

// MostAfter returns the mean weight that the next sample can hardly exceed: the
// upper bound of growth, and twice the doubt of both samples.
func MostAfter(before Weighing, daily []units.Celsius, fish int) (units.Grams, error) {
	most, err := IwamaTautzUpperBound(before.Mean, daily)
	if err != nil {
		return 0, err
	}
	next := Weighing{Fish: fish, Mean: most}
	return most * units.Grams(math.Exp(2*math.Hypot(before.relativeError(), next.relativeError()))), nil
}

// FirstFeedWeight is the mean weight of fry that begin to eat, and the range
// seen: Atlantic salmon 0.12 to 0.20 g (read, Peterson 1977 and Gunnes 1979 as
// filed by their citing authors).
const (
	FirstFeedWeight     units.Grams = 0.16
	FirstFeedWeightLow  units.Grams = 0.12
	FirstFeedWeightHigh units.Grams = 0.20
)

// Meals returns in how many meals a ration is given: small and often for the
// first three weeks of feeding, then less often. From memory (sure: 3 to 5 times
// a day at first, then 1 to 3); the number of weeks is common practice, no source.
func Meals(daysFed int) int {
	if daysFed < 21 {
		return 5
	}
	return 3
}
