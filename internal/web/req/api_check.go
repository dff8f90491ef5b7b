package req

import (
	"net/http"

	"reddside/internal/logbook"
)

// SeasonByID loads a season for an actor who may see it; what names the row
// that is missing otherwise.
func (s *Kernel) SeasonByID(r *http.Request, id logbook.ID, what string) (*logbook.Season, error) {
	season, err := s.DB.LoadSeason(r.Context(), id)
	if err != nil {
		return nil, err
	}
	if !Of(r).Actor.MaySee(season.Site.ID) {
		return nil, logbook.Missing(what)
	}
	return season, nil
}
