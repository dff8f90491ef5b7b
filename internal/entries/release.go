package entries

import (
	"context"
	"slices"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// Releases are how the records of releases are written. They are never taken back:
// a record stands beside its event.
func (s *Service) Releases() Kind[logbook.ReleaseRecord] {
	return Kind[logbook.ReleaseRecord]{
		s: s, name: "release", create: s.db.CreateRelease,
		correct: func(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, row logbook.ReleaseRecord,
			reason string, now time.Time, _ store.After) (store.Saved[logbook.ReleaseRecord], error) {
			return s.db.CorrectRelease(ctx, actor, id, from, row, reason, now)
		},
		id: func(r *logbook.ReleaseRecord) logbook.ID { return r.ID },
		judge: func(ctx context.Context, in *Sent, r, have *logbook.ReleaseRecord) ([]logbook.Problem, error) {
			problems := r.Validate()
			released := func(e logbook.Event) bool { return e.ID == r.EventID && e.Kind == logbook.Released }
			if have == nil && !slices.ContainsFunc(in.Season.Events, released) {
				problems = append(problems, logbook.Problem{Field: "event_id", Key: "api.no_such"})
			}
			if len(problems) > 0 {
				return problems, nil
			}
			return s.judgeRecord(ctx, in, r)
		},
	}
}
