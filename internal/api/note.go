package api

import (
	"net/http"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

type noteSeenOut struct {
	By      logbook.Role `json:"by"`
	ByLabel string       `json:"by_label"`
	At      time.Time    `json:"at"`
}

func noteJSON(n *logbook.Note) object {
	seen := []noteSeenOut{}
	for _, x := range n.Seen {
		seen = append(seen, noteSeenOut{x.By, x.ByLabel, x.At})
	}
	out := entryJSON(&n.Entry)
	out["id"], out["season_id"], out["body"], out["asks"], out["seen"] = n.ID, n.SeasonID, n.Body, n.Asks, seen
	if n.AnswersID != "" {
		out["answers_id"] = n.AnswersID
	}
	return out
}

// apiNotes lists the notes of a season, withdrawn ones included. Reading marks
// none as seen.
func (s *Service) apiNotes(w http.ResponseWriter, r *http.Request) error {
	if err := form.NoQuery(r); err != nil {
		return err
	}
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	notes, err := s.DB.Notes(r.Context(), season.ID)
	if err != nil {
		return err
	}
	return req.WriteJSON(w, http.StatusOK, listOf(notes, noteJSON))
}

// apiNoteCreate stores a note, or an answer to one.
func (s *Service) apiNoteCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	n, err := s.readKeyedEntry(r)
	if err != nil {
		return err
	}
	note := logbook.Note{SeasonID: n.Season.ID, Body: n.body.Text("body"), Asks: n.body.Flag("asks"),
		AnswersID: logbook.ID(n.body.Text("answers_id"))}
	if err := n.refuse(note.Validate); err != nil {
		return err
	}
	saved, err := s.DB.CreateNote(r.Context(), v.Actor, note, v.Now, n.once)
	if err != nil {
		return err
	}
	setETag(w, saved.Row.Revision)
	return req.WriteJSON(w, createdStatus(n.Key, saved.Repeated), noteJSON(&saved.Row))
}
