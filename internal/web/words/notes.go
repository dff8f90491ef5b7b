package words

import (
	"strconv"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/ui"
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

func PhotoViews(p *i18n.Printer, list []logbook.Photo) []ui.Photo {
	var out []ui.Photo
	for _, x := range list {
		out = append(out, ui.Photo{ID: string(x.ID), Src: ui.PhotoPath(x.ID, ".jpg"), Alt: x.Alt,
			Caption: p.Date(x.On) + ": " + x.Alt,
			Width:   strconv.Itoa(x.Width), Height: strconv.Itoa(x.Height), RemoveHref: ui.PhotoPath(x.ID, "/remove")})
	}
	return out
}
