package web

import (
	"net/http"
	"time"

	"reddside/internal/logbook"
)

type noteSeenOut struct {
	By      logbook.Role `json:"by"`
	ByLabel string       `json:"by_label"`
	At      time.Time    `json:"at"`
}

type noteOut struct {
	ID        logbook.ID    `json:"id"`
	SeasonID  logbook.ID    `json:"season_id"`
	Body      string        `json:"body"`
	Asks      bool          `json:"asks"`
	AnswersID logbook.ID    `json:"answers_id,omitempty"`
	Seen      []noteSeenOut `json:"seen"`
	entryOut
}

func noteJSON(n *logbook.Note) noteOut {
	out := noteOut{ID: n.ID, SeasonID: n.SeasonID, Body: n.Body, Asks: n.Asks, AnswersID: n.AnswersID, Seen: []noteSeenOut{}, entryOut: entryJSON(&n.Entry)}
	for _, seen := range n.Seen {
		out.Seen = append(out.Seen, noteSeenOut{seen.By, seen.ByLabel, seen.At})
	}
	return out
}

// apiNotes lists the notes of a season, withdrawn ones included. Reading marks
// none as seen.
func (s *Server) apiNotes(w http.ResponseWriter, r *http.Request) error {
	if err := noQuery(r); err != nil {
		return err
	}
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	notes, err := s.db.Notes(r.Context(), season.ID)
	if err != nil {
		return err
	}
	return writeJSON(w, http.StatusOK, listOf(notes, noteJSON))
}

// apiNoteCreate stores a note, or an answer to one.
func (s *Server) apiNoteCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	n, err := s.readNewEntry(r)
	if err != nil {
		return err
	}
	note := logbook.Note{SeasonID: n.season.ID, Body: n.body.text("body"), Asks: n.body.flag("asks"), AnswersID: logbook.ID(n.body.text("answers_id"))}
	if err := n.refuse(note.Validate); err != nil {
		return err
	}
	saved, err := s.db.CreateNote(r.Context(), v.actor, note, v.now, n.once)
	if err != nil {
		return err
	}
	setETag(w, saved.Row.Revision)
	return writeJSON(w, createdStatus(n.once, saved.Repeated), noteJSON(&saved.Row))
}
