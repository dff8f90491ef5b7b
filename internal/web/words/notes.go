package words

import (
	"reddside/internal/logbook"
)

// NoteWaits reports whether a note of the other side waits for a reader of a
// role: to be seen or to be answered.
func NoteWaits(n *logbook.Note, thread []logbook.Note, role logbook.Role) bool {
	return !n.Voided && n.By != role && (!n.SeenBy(role) || n.Waits(thread))
}

func NotesWaiting(thread []logbook.Note, role logbook.Role) int {
	n := 0
	for i := range thread {
		if NoteWaits(&thread[i], thread, role) {
			n++
		}
	}
	return n
}
