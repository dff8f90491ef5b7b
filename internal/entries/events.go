package entries

import (
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// releasedOnce stops the second of two releases that are sent at the same moment,
// each without a word about the other.
func ReleasedOnce(seen *logbook.Season, e *logbook.Event, after store.After) store.After {
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
