package ui

import (
	"strconv"
)

// FoodBars are the food of some days: an outline for the ration and a filled bar
// for what was given. The table beside it says the same in words.
type FoodBars struct {
	Label      string // what the picture shows, in a sentence
	Top        string // the highest value, with its unit
	From, To   string // first and last day
	Ration, Of string // words of the key
	Max        float64
	Days       []FoodBar
}

// FoodBar is one day; a negative value is not known.
type FoodBar struct {
	Ration, Given float64
	Held          bool
}

const (
	foodBarWide = 16.0 // of one day, in the units of the drawing
	foodBarHigh = 100.0
)

func (b FoodBars) box() string {
	return "0 0 " + foodNumber(foodBarWide*float64(len(b.Days))) + " " + foodNumber(foodBarHigh+2)
}

func foodNumber(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) }

// x is the left side of a bar of a day.
func (b FoodBars) x(day int, inset float64) string {
	return foodNumber(foodBarWide*float64(day) + inset)
}

// height is the height of a value.
func (b FoodBars) height(v float64) float64 {
	if b.Max <= 0 || v <= 0 {
		return 0
	}
	return foodBarHigh * v / b.Max
}

func (b FoodBars) y(v float64) string { return foodNumber(foodBarHigh + 1 - b.height(v)) }
