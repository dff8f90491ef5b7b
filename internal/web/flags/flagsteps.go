package flags

import (
	"slices"
	"time"

	"reddside/internal/assess"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// stepAsideOver is the end of a rest that nobody ended: the day after its last.
const stepAsideOver = "aside_over"

// withRests adds to the steps of flags, oldest first, when a rest ran out by
// itself. Nothing happens in the log at that moment, so nothing is stored.
func withRests(steps []store.FlagStep, now time.Time) []store.FlagStep {
	next := map[string]time.Time{} // the step after, by flag
	var ends []store.FlagStep
	for i := len(steps) - 1; i >= 0; i-- {
		st := &steps[i]
		until, later := next[string(st.FlagID)]
		if !later {
			until = now
		}
		next[string(st.FlagID)] = st.At
		if st.Until.IsZero() || st.Step == "cleared" {
			continue
		}
		at := st.Until.AddDays(1).Start(logbook.Site{Zone: st.Zone}.Location())
		if st.At.Before(at) && at.Before(until) {
			end := *st
			end.Step, end.At, end.By, end.Role, end.Reason = stepAsideOver, at, assess.Program.Label,
				assess.Program.Role, ""
			ends = append(ends, end)
		}
	}
	if len(ends) == 0 {
		return steps
	}
	all := slices.Concat(steps, ends)
	slices.SortStableFunc(all, func(a, b store.FlagStep) int { return a.At.Compare(b.At) })
	return all
}
