package ui

import (
	"reddside/internal/logbook"
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
	CanSee, CanShelve, CanUnshelve, CanFind bool
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

// StatusClass returns the style class of a status: its colour and its edge.
func StatusClass(s rules.Status) string {
	switch s {
	case rules.StatusAct, rules.StatusWatch, rules.StatusNoCheck, rules.StatusDue:
		return "status " + string(s)
	}
	return "status fine"
}

// KindClass returns the style class of a kind of flag.
func KindClass(k rules.Kind) string {
	if k.Order() > 3 {
		return "status note"
	}
	return "status " + string(k)
}

// Msg writes a rule's message in the reader's language.
func (p Page) Msg(m rules.Message) string { return p.T(m.Key, m.Args) }

// forClass reports whether the page is read by pupils.
func (p Page) forClass() bool { return p.Role == logbook.Class }
