package req

import (
	"context"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// DutyTurn is whose turn a day is at a site; Who is empty when nobody was named.
func (s *Kernel) DutyTurn(ctx context.Context, site logbook.ID, on civil.Date) (logbook.DutyTurn, error) {
	l, err := s.DB.DutyList(ctx, site)
	if err != nil {
		return logbook.DutyTurn{}, err
	}
	return l.On(on), nil
}
