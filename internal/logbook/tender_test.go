package logbook_test

import (
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// The newest word counts, of checks and deliveries alike, and none from later days.
func TestSaidStage(t *testing.T) {
	day := civil.MustParse("2026-01-20")
	s := &logbook.Season{Deliveries: []logbook.Delivery{{On: day, Count: 100, Stage: logbook.GreenEgg}},
		Checks: []logbook.Check{{On: day.AddDays(5)}, {On: day.AddDays(10), Stage: logbook.EyedEgg}}}
	for n, want := range map[int]logbook.Stage{-1: "", 0: logbook.GreenEgg, 9: logbook.GreenEgg, 10: logbook.EyedEgg,
		40: logbook.EyedEgg} {
		if got := s.SaidStage(day.AddDays(n)); got != want {
			t.Errorf("day %d: %q, want %q", n, got, want)
		}
	}
}
