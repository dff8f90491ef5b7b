package entries

import (
	"context"
	"maps"
	"slices"
	"time"

	"reddside/internal/care"
	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// SetReady ticks what is ready in a tank before eggs come (true), or takes ticks
// off (false), by the ids of care.BeforeEggs. An id that is not there is Invalid.
func (s *Service) SetReady(ctx context.Context, actor logbook.Actor, tank logbook.ID, done map[string]bool,
	now time.Time) error {
	known := map[string]bool{}
	for _, r := range care.BeforeEggs(civil.Date{}) {
		known[r.ID] = true
	}
	var problems []logbook.Problem
	for _, id := range slices.Sorted(maps.Keys(done)) {
		if !known[id] {
			problems = append(problems, logbook.Problem{Field: id, Key: "choice.unknown"})
		}
	}
	if err := logbook.Refuse(problems); err != nil {
		return err
	}
	return s.db.SetReady(ctx, actor, tank, done, now)
}
