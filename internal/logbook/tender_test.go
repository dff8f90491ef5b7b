package logbook_test

import (
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// Green eggs leave a tank only with a stated reason; eyed eggs and eggs whose
// stage nobody said do not ask for one.
func TestGreenEggsAreNotMovedWithoutAReason(t *testing.T) {
	day := civil.MustParse("2026-01-20")
	season := func(delivered, seen logbook.Stage) *logbook.Season {
		return &logbook.Season{Deliveries: []logbook.Delivery{{On: day, Count: 100, Stage: delivered}},
			Checks: []logbook.Check{{On: day.AddDays(10), Stage: seen}}}
	}
	asks := func(s *logbook.Season, kind logbook.EventKind, on civil.Date, note string) bool {
		e := logbook.Event{Kind: kind, On: on, Count: units.Some(5), Place: "Tank 2", Note: note}
		for _, p := range e.Validate(s, day.AddDays(30)) {
			if p.Key == "event.tender" {
				return true
			}
		}
		return false
	}
	green := season(logbook.GreenEgg, logbook.EyedEgg)
	for _, x := range []struct {
		what string
		got  bool
		want bool
	}{
		{"green", asks(green, logbook.MovedOut, day.AddDays(5), ""), true},
		{"green, with a reason", asks(green, logbook.MovedOut, day.AddDays(5), "the tank leaks"), false},
		{"seen eyed", asks(green, logbook.MovedOut, day.AddDays(12), ""), false},
		{"stage not said", asks(season("", ""), logbook.MovedOut, day.AddDays(5), ""), false},
		{"another kind", asks(green, logbook.SampleTaken, day.AddDays(5), ""), false},
	} {
		if x.got != x.want {
			t.Errorf("%s: asks %v, want %v", x.what, x.got, x.want)
		}
	}
}
