package ui

import (
	"reddside/internal/rules"
)

// FlagItem is a flag on the page of its tank, with its life.
type FlagItem struct {
	Flag  rules.Flag
	ID    string   // of its stored life; "" before that is written
	Lines []string // raised, seen, set aside
	Back  string   // page to come back to
	Aside bool
	// ClosedHref is where to say that the school was closed, for a missing check.
	ClosedHref string
	// What the reader may do.
	CanSee, CanAside, CanWake, CanFind bool
}

// EndedFlag is a flag that ended before anybody had seen it.
type EndedFlag struct {
	ID      string
	Kind    rules.Kind
	Text    string // what it said when it was raised
	When    string
	Why     string // why it ended
	CanFind bool
}
