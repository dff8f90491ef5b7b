// Package classwork makes questions for pupils from the log of their own tank,
// and works out the answers. Everything is a pure function of the facts of a
// tank: the same day and tank give the same questions on every tablet.
//
// Numbers are kept as pupils see them: temperatures and daily thermal units in
// tenths of the site's unit, everything else whole. An answer is worked out from
// these rounded numbers, so that a pupil with pencil and paper finds the same.
package classwork

import (
	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// Day is one day with a measured temperature.
type Day struct {
	On     civil.Date
	Tenths int // of a degree, in the unit of the site
	Units  int // thermal units of that day, in tenths, in the same unit
}

// Facts are what is known of a tank at the end of the day before Today. What is
// entered today changes no question of today.
type Facts struct {
	Tank      logbook.ID
	Today     civil.Date
	Days      []Day // with a measured temperature, before Today, oldest first
	OtherTank string
	Other     []Day // the same of another tank of the school; may be empty
	// Total are the thermal units at the end of the last of Days, whole; 0 when
	// not known since fertilisation.
	Total int
	// Started and Alive are how many came and how many live; both 0 when some
	// moved, were sampled or released, or when nobody knows what became of some.
	Started, Alive int
}

// Kind is a sort of question.
type Kind string

// The kinds of question, in the order in which they take turns.
const (
	Mean   Kind = "mean"   // mean of some days
	Rate   Kind = "rate"   // days until a number of thermal units
	Graph  Kind = "graph"  // read a line chart
	Change Kind = "change" // difference between two days
	Alive  Kind = "alive"  // how many live, and of a hundred
	Tanks  Kind = "tanks"  // difference between two tanks
	Sum    Kind = "sum"    // thermal units together
)

// Kinds lists the kinds in the order in which they take turns.
func Kinds() []Kind { return []Kind{Mean, Rate, Graph, Change, Alive, Tanks, Sum} }

// Levels are how hard a question is: 1 is the easiest.
const Levels = 3

// Question is a question with the numbers it shows and its answer. Which of the
// numbers are filled depends on kind and level.
type Question struct {
	Kind  Kind
	Level int

	Days      []Day // what is listed or drawn
	OtherTank string
	Other     []Day
	PerDay    int // thermal units a day, in tenths
	Total     int // thermal units so far
	Target    int // thermal units wanted
	Line      int // height of a line on the chart, in tenths
	Whole     int // how many there were
	Part      int // how many live
	Gone      int // how many do not

	Answer Answer
}

// Answer is the answer of a question.
type Answer struct {
	Tenths int        // of a degree or a thermal unit; never negative
	Sign   int        // of a difference: 1 the later day or this tank is warmer, -1 colder, 0 the same
	Count  int        // days, eggs or fish
	Of     int        // denominator of a fraction in its simplest form
	On     civil.Date // a day
	Sum    int        // on the way: the sum of what is listed, in tenths
	Value  int        // on the way: a mean or a height, in tenths
	Value2 int        // on the way: the other one
}
