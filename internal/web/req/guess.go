package req

import (
	"net/http"

	"reddside/internal/logbook"
	"reddside/internal/web/words"
)

// GuessesClosed is the key of why no guess can be made any more, or "".
func (s *Kernel) GuessesClosed(r *http.Request, season *logbook.Season) (string, error) {
	a, err := s.Assess.Assess(r.Context(), season, Of(r).Now)
	if err != nil {
		return "", err
	}
	return words.GuessClosed(a), nil
}
