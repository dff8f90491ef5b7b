package ui

import (
	"reddside/internal/logbook"
	"reddside/internal/rules"
)

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
