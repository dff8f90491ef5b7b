package plan

import (
	"reddside/internal/web/ui"
)

// GuessPage is the guesses of a class and, once the eggs have hatched, how near
// they came.
type GuessPage struct {
	ui.Page
	Top      ui.SeasonTop
	Intro    string
	Closed   string // why no guess can be made, or ""
	Form     ui.FormPage
	Problems ui.Problems
	Rows     []GuessRow
	Strip    *GuessStrip // nil until the hatch was seen
	Result   []string    // what happened, in words
}

// GuessRow is one guess with the forecast that was made on the same day.
type GuessRow struct {
	Group, On, MadeOn string
	Forecast          string // "" until the hatch was seen
	Off               string // how far the guess was off
	Mark              ui.EntryMark
	Correct           string // link, or ""
}

// GuessStrip is a line of days with the guesses, the forecasts and the hatch;
// places are from 0 to 100.
type GuessStrip struct {
	Title, Desc string
	From, To    string // first and last day
	Guesses     []StripMark
	Forecasts   []StripMark
	Hatch       StripSpan
}

// StripMark is a mark on the strip; Row lifts marks of one day over each other.
type StripMark struct {
	X    float64
	Row  int
	Text string
}

// StripSpan is a stretch on the strip.
type StripSpan struct {
	X, Width float64
	Text     string
}

func (s *GuessStrip) x(v float64) string { return ui.Num(10 + v*5.8) }
func (s *GuessStrip) w(v float64) string { return ui.Num(max(3, v*5.8)) }
func (s *GuessStrip) y(row int) string   { return ui.Num(float64(58 - 9*min(row, 5))) }
