// Package stats holds the statistics of the logbook as pure functions on plain
// numbers and slices: intervals, tails of distributions, the dead-count rule,
// control charts, robust slopes, temperature rules, survival, the funnel for
// many tanks and the scoring of forecasts. Distributions come from gonum.
//
// Nothing here reads a clock, and nothing holds text for people: results are
// numbers and flags which the callers put into words.
package stats

import "errors"

// ErrInput is returned (wrapped) when an argument lies outside the range that
// the function documents.
var ErrInput = errors.New("stats: input out of range")

// Interval is a closed range of plausible values.
type Interval struct {
	Lower, Upper float64
}
