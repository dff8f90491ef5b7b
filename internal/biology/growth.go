package biology

import (
	_ "embed"
	"math"

	"reddside/internal/units"
)

// Ranges of the growth models.
const (
	GrowthLowG  = 0.05 // lightest fry; the models were fitted to larger fish
	GrowthHighG = 300.0
	GrowthLowC  = 0.0
	GrowthHighC = 30.0
)

// GrowthModel is growth at full ration: G = C W^-B (T - TL)/(TM - TL) per cent
// a day, where TL is Lower up to the optimum TM and Upper above it. Source and
// How travel with the constants.
type GrowthModel struct {
	ID, Source, How       string
	B, C                  float64
	Lower, Optimum, Upper units.Celsius
}

// ElliottHurleySalmon is Atlantic salmon parr, Elliott & Hurley 1997. It was
// fitted to parr, so for fry it is an extrapolation.
func ElliottHurleySalmon() GrowthModel {
	return GrowthModel{
		ID: "AS-G1", Source: "Elliott & Hurley 1997", How: "from memory, medium to high",
		B: 0.31, C: 3.53, Lower: 6.0, Optimum: 15.94, Upper: 22.51,
	}
}

// ElliottTrout is brown trout in the same form.
func ElliottTrout() GrowthModel {
	return GrowthModel{
		ID: "BT-G1", Source: "Elliott, Hurley & Fryer 1995", How: "from memory",
		B: 0.308, C: 2.803, Lower: 3.56, Optimum: 13.11, Upper: 19.48,
	}
}

// pace is (T - TL)/(TM - TL), no lower than 0: out of the growing range fish do
// not grow, and the model does not say how they shrink.
func (m GrowthModel) pace(t units.Celsius) float64 {
	limit := m.Lower
	if t > m.Optimum {
		limit = m.Upper
	}
	return math.Max(0, float64((t-limit)/(m.Optimum-limit)))
}

// WeightAfter returns the mean weight after one day at each of the daily mean
// temperatures, at full ration: W^B grows by B C (T - TL)/(100 (TM - TL)) a day.
func (m GrowthModel) WeightAfter(start units.Grams, daily []units.Celsius) (units.Grams, error) {
	if err := units.CheckRange("fish_weight", start, GrowthLowG, GrowthHighG, "g"); err != nil {
		return 0, err
	}
	wb := math.Pow(float64(start), m.B)
	for _, t := range daily {
		if err := units.CheckRange("temperature", t, GrowthLowC, GrowthHighC, "Cel"); err != nil {
			return 0, err
		}
		wb += m.B * m.C * m.pace(t) / 100
	}
	return inGrowthRange(math.Pow(wb, 1/m.B))
}

// IwamaTautzUpperBound returns an upper bound of the mean weight after the
// daily mean temperatures: W^0.33 grows by T/1000 a day (Iwama & Tautz 1981,
// read; tested on steelhead). Atlantic salmon fry grow more slowly.
func IwamaTautzUpperBound(start units.Grams, daily []units.Celsius) (units.Grams, error) {
	if err := units.CheckRange("fish_weight", start, GrowthLowG, GrowthHighG, "g"); err != nil {
		return 0, err
	}
	const exponent = 0.33
	root := math.Pow(float64(start), exponent)
	for _, t := range daily {
		if err := units.CheckRange("temperature", t, GrowthLowC, GrowthHighC, "Cel"); err != nil {
			return 0, err
		}
		root += float64(t) / 1000
	}
	return inGrowthRange(math.Pow(root, 1/exponent))
}

func inGrowthRange(w float64) (units.Grams, error) {
	if err := units.CheckRange("weight_after", w, GrowthLowG, GrowthHighG, "g"); err != nil {
		return 0, err
	}
	return units.Grams(w), nil
}
