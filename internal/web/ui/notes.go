package ui

import (
	"slices"
)

// NoteThread is the notes between keeper and coordinator about a season, with
// the form for the next one.
type NoteThread struct {
	Action, Key string
	Lines       []NoteLine // oldest first
	Unread      int
	// What stands in the form.
	Body                 string
	Asks                 bool
	Answers, AnswersText string // the note that is answered, or ""
	Problems             Problems
}

// NoteLine is one note.
type NoteLine struct {
	ID, Body, By, At       string
	Answer, Mine           bool
	Unread, Waits          bool
	Withdrawn              string // by whom, when and why, or ""
	Seen                   []string
	CanAnswer, CanWithdraw bool
}

// shownNotes is how many notes stand open on the page of a tank.
const shownNotes = 3

func (t NoteThread) Newest() []NoteLine { return t.Lines[max(0, len(t.Lines)-shownNotes):] }

// Pending reports whether a note is unread or waits for an answer.
func (t NoteThread) Pending() bool {
	return slices.ContainsFunc(t.Lines, func(n NoteLine) bool { return n.Unread || n.Waits })
}
