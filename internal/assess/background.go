package assess

import (
	"context"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// program is the actor of what the program does by itself.
var Program = logbook.Actor{Role: logbook.Coordinator, Label: "Reddside"}

// syncAllFlags raises and clears flags of every open season whose assessment
// differs from what is stored.
func (s *Service) SyncAllFlags(ctx context.Context) error {
	now := s.clock()
	heads, err := s.db.SeasonHeads(ctx, store.SeasonFilter{OpenOnly: true})
	if err != nil {
		return err
	}
	open, err := s.db.OpenFlags(ctx)
	if err != nil {
		return err
	}
	entries, err := s.BoardEntries(ctx, Program, now)
	if err != nil {
		return err
	}
	stale := map[logbook.ID]bool{}
	for _, e := range entries {
		stale[e.SeasonID] = len(FlagChanges(e.Assessment, open[e.SeasonID])) > 0
	}
	for _, h := range heads {
		if !stale[h.ID] {
			continue
		}
		if err := s.SyncFlags(ctx, Program, h.ID, now); err != nil {
			return err
		}
	}
	return nil
}
