package board

import (
	"net/http"

	"reddside/internal/assess"
	"reddside/internal/logbook"
	"reddside/internal/web/req"
	"reddside/internal/web/words"
)

// boardNotes tells on the board how many notes wait for the reader: to be seen or
// to be answered.
func (s *Service) boardNotes(r *http.Request, m *Board, shown []*assess.BoardEntry, rows []BoardRow) error {
	v := req.Of(r)
	if v.Actor.Role == logbook.Class {
		return nil
	}
	open, err := s.DB.OpenNotes(r.Context(), v.Actor)
	if err != nil {
		return err
	}
	for _, thread := range open {
		m.Notes += words.NotesWaiting(thread, v.Actor.Role)
	}
	for i, e := range shown {
		rows[i].Notes = words.NotesWaiting(open[e.SeasonID], v.Actor.Role)
	}
	return nil
}
