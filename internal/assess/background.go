package assess

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// Program is the actor of what the program does by itself.
var Program = logbook.Actor{Role: logbook.Coordinator, Label: "Reddside"}

// Guard runs one piece of background work; a panic becomes its error, with the stack.
func Guard(do func() error) (err error) {
	defer func() {
		if x := recover(); x != nil {
			err = fmt.Errorf("panic: %v\n%s", x, debug.Stack())
		}
	}()
	return do()
}

// SyncAllFlags raises and clears flags of every open season whose assessment
// differs from what is stored. A season that cannot be assessed is named in the
// error, and stops no other.
func (s *Service) SyncAllFlags(ctx context.Context) error {
	now := s.clock()
	heads, err := s.db.SeasonHeads(ctx, store.SeasonFilter{OpenOnly: true})
	if err != nil {
		return err
	}
	stale := map[logbook.ID]bool{}
	err = Guard(func() error {
		open, err := s.db.OpenFlags(ctx)
		if err != nil {
			return err
		}
		entries, err := s.BoardEntries(ctx, Program, now)
		for _, e := range entries {
			stale[e.SeasonID] = len(FlagChanges(e.Assessment, open[e.SeasonID], nil, time.Time{})) > 0
		}
		return err
	})
	// One season can make the board impossible: then each is asked for itself.
	all := err != nil
	var wanted []logbook.ID
	for _, h := range heads {
		if all || stale[h.ID] {
			wanted = append(wanted, h.ID)
		}
	}
	return each(ctx, wanted, func(id logbook.ID) error { return s.SyncFlags(ctx, Program, id, now) })
}

// each does something for every season, also after one has failed.
func each(ctx context.Context, ids []logbook.ID, do func(logbook.ID) error) error {
	var failed []error
	for _, id := range ids {
		if ctx.Err() != nil {
			break // what it would fail with tells nothing of the season
		}
		if err := Guard(func() error { return do(id) }); err != nil {
			failed = append(failed, fmt.Errorf("season %s: %w", id, err))
		}
	}
	return errors.Join(failed...)
}
