package req

import (
	"net/http"

	"reddside/internal/logbook"
)

// StoredSample loads the sample of the address with its season, for an actor who
// may see it.
func (s *Kernel) StoredSample(r *http.Request) (*logbook.Sample, *logbook.Season, error) {
	m, err := s.DB.Sample(r.Context(), URLID(r, "sampleID"))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.SeasonByID(r, m.SeasonID, "sample")
	return &m, season, err
}
