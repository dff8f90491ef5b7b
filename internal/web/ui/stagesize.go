package ui

import (
	"fmt"

	"reddside/internal/logbook"
)

// stageSize is how long the fish of a stage are, and the scale at which they are
// drawn from above.
type stageSize struct {
	MM    float64 // length; of an egg its diameter
	PerMM float64 // units of the drawing for a millimetre
	Bar   int     // of the scale, in mm
}

// stageSizes: eggs of Atlantic salmon are 5.3 to 6.5 mm wide, alevins at hatch in 6
// to 8 °C 18.4 to 19.2 mm long, fry at first feeding 28 to 29 mm (Peterson et al.
// 1977, read). Parr of about 2 g and smolts of about 40 g: their length from
// K = 0.9 g/cm³, common practice, no source. Brook and brown trout eggs are
// smaller, 4 to 5 mm (from memory): the drawing says "about".
var stageSizes = map[logbook.Stage]stageSize{
	logbook.GreenEgg: {5.9, 3, 10},
	logbook.EyedEgg:  {5.9, 3, 10},
	logbook.Alevin:   {19, 3, 10},
	logbook.Fry:      {28, 3, 10},
	logbook.Parr:     {60, 1.6, 20},
	logbook.Smolt:    {165, 0.6, 50},
}

// Length is the length in units of the drawing.
func (s stageSize) Length() float64 { return s.MM * s.PerMM }

// bar draws the scale at the foot, with its ends.
func (s stageSize) bar() string {
	return fmt.Sprintf("M8 61v6m0 -3h%gm0 -3v6", float64(s.Bar)*s.PerMM)
}

// eggs are the middles of eggs that lie side by side in the basket.
func (s stageSize) eggs() [][2]float64 {
	d := s.Length()
	return [][2]float64{{34, 20}, {34 + d, 22}, {34 + 2*d, 19}, {43, 20 + d}, {43 + d, 21 + d}}
}

// along places a fish drawn 100 long so that it has its length, its head at the left.
func (s stageSize) along() string {
	k := s.Length() / 100
	return fmt.Sprintf("translate(%.1f 30) scale(%.3f)", 60-s.Length()/2, k)
}

func number(v float64) string { return fmt.Sprintf("%g", v) }

// backPath is the outline of the back, twice half wide.
func backPath(half int) string {
	return fmt.Sprintf("M0 0C3 -%[1]d 10 -%[1]d 22 -%[1]dC48 -%[1]d 70 -3 88 -1L100 -3L97 0L100 3L88 1C70 3 48 %[1]d 22 %[1]dC10 %[1]d 3 %[1]d 0 0Z",
		half)
}
