package water

import (
	_ "embed"

	"reddside/internal/units"
)

// Ranges and figures of the filter calculators.
const (
	NitrificationLowC  = 5.0
	NitrificationHighC = 25.0
	// TANPerFeedAndProtein is grams of ammonia nitrogen per gram of feed and
	// share of protein (from memory, sure).
	TANPerFeedAndProtein = 0.092
	// FryFeedProtein is a usual share of protein in starter feed (read).
	FryFeedProtein = 0.5
	// OxygenPerN is grams of oxygen that filter bacteria use per gram of
	// ammonia nitrogen (from memory, sure).
	OxygenPerN = 4.57
	// AlkalinityPerN is grams of alkalinity as CaCO3 used per gram of ammonia
	// nitrogen (from memory, sure: 7.05 to 7.14).
	AlkalinityPerN = 7.1
	// BicarbonatePerAlkalinity is grams of NaHCO3 per gram of CaCO3, from the
	// equivalent weights.
	BicarbonatePerAlkalinity = 84.007 / 50.043
)

// NitrificationRate returns grams of ammonia nitrogen that a square metre of
// ripe, well designed filter takes up in a day, from 5 to 25 C, linear between
// the table's rows every 5 C (read, aquaculture table). A new filter does less.
func NitrificationRate(t units.Celsius) (float64, error) {
	if err := units.CheckRange("temperature", t, NitrificationLowC, NitrificationHighC, "Cel"); err != nil {
		return 0, err
	}
	rates := [...]float64{0.3, 0.5, 0.7, 0.9, 1.0}
	x := (float64(t) - NitrificationLowC) / 5
	i := min(int(x), len(rates)-2)
	return rates[i] + (x-float64(i))*(rates[i+1]-rates[i]), nil
}

// FilterArea returns the square metres of ripe filter surface that keep up with
// a daily production of ammonia nitrogen.
func FilterArea(tanPerDay units.Grams, t units.Celsius) (float64, error) {
	if err := units.CheckRange("tan_per_day", tanPerDay, 0, 1e6, "g"); err != nil {
		return 0, err
	}
	rate, err := NitrificationRate(t)
	if err != nil {
		return 0, err
	}
	return float64(tanPerDay) / rate, nil
}

// TANFromFeed returns grams of ammonia nitrogen from a weight of feed and the
// feed's share of protein, 0 to 1. A starter feed of half protein gives 46 g
// per kg: the careful figure.
func TANFromFeed(feed units.Grams, protein float64) (units.Grams, error) {
	err := firstOutside(check{"feed", float64(feed), 0, 1e6, "g"}, check{"protein", protein, 0, 1, ""})
	if err != nil {
		return 0, err
	}
	return feed * units.Grams(protein*TANPerFeedAndProtein), nil
}

// Excretion of ammonia by sockeye of 29 g at 15 C, mg N per kg and hour, before
// and about 4 h after feeding (Brett & Zala 1975, read).
const (
	ExcretionBaseline = 8.2
	ExcretionPeak     = 35.0
)

// Bicarbonate returns grams of NaHCO3 (baking soda) that raise the alkalinity
// of a volume by 0 to 200 mg/L as CaCO3. It also raises pH.
func Bicarbonate(v units.Litres, raise units.MgPerL) (units.Grams, error) {
	err := firstOutside(volumeCheck(v), check{"alkalinity_raise", float64(raise), 0, 200, "mg/L"})
	if err != nil {
		return 0, err
	}
	return units.Grams(float64(v) * float64(raise) * BicarbonatePerAlkalinity / 1000), nil
}
