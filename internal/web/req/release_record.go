package req

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
)

// ReleaseOfRequest loads the record of the address and its season.
func (s *Kernel) ReleaseOfRequest(r *http.Request) (*logbook.ReleaseRecord, *logbook.Season, error) {
	rec, err := s.DB.Release(r.Context(), logbook.ID(chi.URLParam(r, "releaseID")))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.SeasonByID(r, rec.SeasonID, "release_record")
	return &rec, season, err
}
