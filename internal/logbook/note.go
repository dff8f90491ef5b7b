package logbook

import (
	"slices"
	"time"
	"unicode/utf8"
)

// MaxNoteBody bounds a note between keeper and coordinator, in characters.
const MaxNoteBody = 500

// Note is one note between the keeper of a tank and the coordinator.
type Note struct {
	ID        ID
	SeasonID  ID
	Body      string
	Asks      bool // its writer wants an answer
	AnswersID ID   // the note that it answers, or empty
	Seen      []NoteSeen
	Entry
}

// NoteSeen says which kind of user has seen a note first, and when.
type NoteSeen struct {
	By      Role
	ByLabel string
	At      time.Time
}

// Validate returns what is wrong with a note.
func (n *Note) Validate() []Problem {
	switch {
	case n.Body == "":
		return []Problem{{Field: "body", Key: "note.empty"}}
	case utf8.RuneCountInString(n.Body) > MaxNoteBody:
		return []Problem{{Field: "body", Key: "entry.too_long", Args: Args{"Max": MaxNoteBody}}}
	}
	return nil
}

// SeenBy reports whether somebody of a role wrote the note or has seen it.
func (n *Note) SeenBy(r Role) bool {
	return n.By == r || slices.ContainsFunc(n.Seen, func(s NoteSeen) bool { return s.By == r })
}

// Answer returns the first note of the other side that answers n and stands, or
// nil.
func (n *Note) Answer(thread []Note) *Note {
	for i := range thread {
		if a := &thread[i]; a.AnswersID == n.ID && a.By != n.By && !a.Voided {
			return a
		}
	}
	return nil
}

// Waits reports whether a note stands, asks for an answer and has none.
func (n *Note) Waits(thread []Note) bool { return n.Asks && !n.Voided && n.Answer(thread) == nil }
