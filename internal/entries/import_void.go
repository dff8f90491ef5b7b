package entries

import (
	"context"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// VoidImport takes a file of readings back with a reason; the flags follow. What was
// reckoned from it is reckoned anew, here and in the other tanks of the lot.
func (s *Service) VoidImport(ctx context.Context, actor logbook.Actor, season *logbook.Season, id logbook.ID,
	reason string,
	now time.Time) ([]store.FlagChange, error) {
	after, err := s.Assess.FlagsAfter(ctx, season, now)
	if err != nil {
		return nil, err
	}
	return s.db.VoidImport(ctx, actor, season.ID, id, reason, now, after)
}
