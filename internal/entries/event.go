package entries

import (
	"context"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// Events are how events are written.
func (s *Service) Events() Kind[logbook.Event] {
	return Kind[logbook.Event]{
		s: s, name: "event", create: s.db.CreateEvent, correct: s.db.CorrectEvent, void: s.db.VoidEvent,
		id: func(e *logbook.Event) logbook.ID { return e.ID },
		judge: func(ctx context.Context, in *Sent, e, have *logbook.Event) ([]logbook.Problem, error) {
			problems := e.Validate(in.Season, s.Assess.Today(in.Season.Site, in.Now))
			if len(problems) > 0 {
				return problems, nil
			}
			if problems, err := s.judgeRelease(ctx, in, e, have); err != nil || len(problems) > 0 {
				return problems, err
			}
			return s.careful(ctx, in, e)
		},
		guard: func(in *Sent, e *logbook.Event, after store.After) store.After {
			return releasedOnce(in.Season, e, after)
		},
	}
}

// releasedOnce stops the second of two releases that are sent at the same moment,
// each without a word about the other.
func releasedOnce(seen *logbook.Season, e *logbook.Event, after store.After) store.After {
	if e.Kind != logbook.Released || e.Note != "" {
		return after
	}
	count := func(s *logbook.Season) (n int) {
		for i := range s.Events {
			if s.Events[i].Kind == logbook.Released {
				n++
			}
		}
		return n
	}
	return func(stored *logbook.Season, open []store.Flag) ([]store.FlagChange, error) {
		if count(stored) > count(seen)+1 {
			return nil, logbook.Errorf(logbook.Conflict, "release.meanwhile", nil)
		}
		return after(stored, open)
	}
}
