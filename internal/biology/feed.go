package biology

import (
	"bytes"
	_ "embed"
	"encoding/csv"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"reddside/internal/units"
)

//go:embed feed_table.csv
var feedTableCSV []byte

// FeedTable is daily dry feed in % of body weight by temperature and weight
// class, for rainbow trout (Deuel et al. 1952; from memory, each value give or
// take 0.2). No table for Atlantic salmon was found: show it as a guide.
type FeedTable struct {
	Source, How string
	Spread      float64     // each value give or take, % of body weight a day
	temps       []float64   // C, ascending
	below       []float64   // upper end of each weight class, g, ascending
	percent     [][]float64 // by temperature, then class
	particles   []Particle
}

// Particle is a feed particle size for a weight class (FAO, read).
type Particle struct {
	Below       units.Grams // upper end of the class
	Low, High   units.Millimetres
	Source, How string
}

// NewFeedTable reads the table that belongs to the program.
func NewFeedTable() (FeedTable, error) {
	all, err := csv.NewReader(bytes.NewReader(feedTableCSV)).ReadAll()
	if err != nil {
		return FeedTable{}, fmt.Errorf("feed table: %w", err)
	}
	var ft FeedTable
	for i, rec := range all[1:] {
		if err := ft.add(rec); err != nil {
			return FeedTable{}, fmt.Errorf("feed table, row %d: %w", i+2, err)
		}
	}
	for _, row := range ft.percent {
		if len(row) != len(ft.below) {
			return FeedTable{}, fmt.Errorf("feed table: %d classes at one temperature, %d at another", len(row),
				len(ft.below))
		}
	}
	return ft, nil
}

// add takes one row: kind, temp_c, weight_class_g, value, unit, source, how,
// confidence. Rows come in ascending order of temperature, then weight.
func (ft *FeedTable) add(rec []string) error {
	_, top, err := feedSpan(rec[2])
	if err != nil {
		return err
	}
	low, high, err := feedSpan(rec[3])
	if err != nil {
		return err
	}
	if rec[0] == "feed_particle" {
		if !strings.Contains(rec[3], "-") {
			low = high
		}
		ft.particles = append(ft.particles, Particle{
			Below: units.Grams(top), Low: units.Millimetres(low), High: units.Millimetres(high), Source: rec[5],
			How: rec[6],
		})
		return nil
	}
	temp, err := strconv.ParseFloat(rec[1], 64)
	if err != nil {
		return err
	}
	ft.Source, ft.How = rec[5], rec[6]
	_, spread, _ := strings.Cut(rec[7], "+-")
	if ft.Spread, err = strconv.ParseFloat(spread, 64); err != nil {
		return fmt.Errorf("confidence %q: want a value after +-: %w", rec[7], err)
	}
	if n := len(ft.temps); n == 0 || ft.temps[n-1] != temp {
		ft.temps, ft.percent = append(ft.temps, temp), append(ft.percent, nil)
	}
	if !slices.Contains(ft.below, top) {
		ft.below = append(ft.below, top)
	}
	n := len(ft.percent) - 1
	ft.percent[n] = append(ft.percent[n], high)
	return nil
}

// feedSpan reads "0.18-1.49", "<0.18" or "2".
func feedSpan(s string) (low, high float64, err error) {
	a, b, two := strings.Cut(strings.TrimPrefix(s, "<"), "-")
	if !two {
		high, err = strconv.ParseFloat(a, 64)
		return 0, high, err
	}
	if low, err = strconv.ParseFloat(a, 64); err != nil {
		return 0, 0, err
	}
	high, err = strconv.ParseFloat(b, 64)
	return low, high, err
}

// Percent returns the daily feed in % of body weight: the row's own value at a
// temperature of the table and linear between (2.2 to 12.8 C), by weight class
// (0.05 to 12 g).
func (ft FeedTable) Percent(t units.Celsius, each units.Grams) (float64, error) {
	last, lastClass := len(ft.temps)-1, len(ft.below)-1
	if err := units.CheckRange("temperature", t, ft.temps[0], ft.temps[last], "Cel"); err != nil {
		return 0, err
	}
	if err := units.CheckRange("fish_weight", each, GrowthLowG, ft.below[lastClass], "g"); err != nil {
		return 0, err
	}
	class := 0
	for class < lastClass && float64(each) >= ft.below[class] {
		class++
	}
	i := 0
	for i < last-1 && float64(t) >= ft.temps[i+1] {
		i++
	}
	low, high := ft.percent[i][class], ft.percent[i+1][class]
	share := (float64(t) - ft.temps[i]) / (ft.temps[i+1] - ft.temps[i])
	return low*(1-share) + high*share, nil
}

// Range returns the temperatures and weights that the table holds for.
func (ft FeedTable) Range() (coldest, warmest units.Celsius, lightest, heaviest units.Grams) {
	return units.Celsius(ft.temps[0]), units.Celsius(ft.temps[len(ft.temps)-1]), GrowthLowG,
		units.Grams(ft.below[len(ft.below)-1])
}

// Guide returns the daily feed in % of body weight without the steps of the
// weight classes: the value of a class stands at its middle (that of the
// logarithms, as weights go) and is linear between; outside the first and last
// middle it stays. Temperatures and range are those of Percent.
func (ft FeedTable) Guide(t units.Celsius, each units.Grams) (float64, error) {
	if _, err := ft.Percent(t, each); err != nil {
		return 0, err
	}
	x := math.Log(float64(each))
	last := len(ft.below) - 1
	for class := 0; class <= last; class++ {
		at := ft.middle(class)
		if x > at && class < last {
			continue
		}
		here, err := ft.Percent(t, units.Grams(math.Exp(at)))
		if err != nil || class == 0 || x > at {
			return here, err
		}
		before := ft.middle(class - 1)
		lighter, err := ft.Percent(t, units.Grams(math.Exp(before)))
		share := (x - before) / (at - before)
		return lighter*(1-share) + here*share, err
	}
	return 0, nil
}

// middle is the logarithm of the middle weight of a class.
func (ft FeedTable) middle(class int) float64 {
	low := GrowthLowG
	if class > 0 {
		low = ft.below[class-1]
	}
	return (math.Log(low) + math.Log(ft.below[class])) / 2
}

// ParticleSize returns the feed particle for a mean weight from 0.05 to 30 g.
func (ft FeedTable) ParticleSize(each units.Grams) (Particle, error) {
	last := len(ft.particles) - 1
	if err := units.CheckRange("fish_weight", each, GrowthLowG, float64(ft.particles[last].Below), "g"); err != nil {
		return Particle{}, err
	}
	for _, p := range ft.particles[:last] {
		if each < p.Below {
			return p, nil
		}
	}
	return ft.particles[last], nil
}

// Ration returns the feed of a day for a number of fish, their mean weight and
// a feed in % of body weight (0 to 15).
func Ration(fish int, each units.Grams, percent float64) (units.Grams, error) {
	if err := units.CheckRange("fish", float64(fish), 0, 1e7, ""); err != nil {
		return 0, err
	}
	if err := units.CheckRange("fish_weight", each, 0, 10000, "g"); err != nil {
		return 0, err
	}
	if err := units.CheckRange("feed_percent", percent, 0, 15, "%"); err != nil {
		return 0, err
	}
	return units.Grams(float64(fish) * float64(each) * percent / 100), nil
}
