package logbook

import (
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// A sensor that sends each reading as a file of its own is no dispute with itself,
// however fast the water warms; two loggers side by side are.
func TestDisputes(t *testing.T) {
	start := time.Date(2026, 2, 3, 8, 0, 0, 0, time.UTC)
	at := func(file int64, minutes int, c units.Celsius) Reading {
		x := start.Add(time.Duration(minutes) * time.Minute)
		return Reading{At: x, On: civil.In(x, time.UTC), Temperature: c, Quality: Good, File: file}
	}
	daily := func(file int64, c units.Celsius) Reading {
		return Reading{On: civil.Of(2026, 2, 3), Temperature: c, Quality: Good, File: file}
	}
	for name, x := range map[string]struct {
		list []Reading
		want int
	}{
		"a sensor, reading by reading": {[]Reading{at(1, 0, 7), at(2, 10, 9), at(3, 20, 12)}, 0},
		"two loggers, half an hour apart": {[]Reading{at(1, 0, 7), at(2, 30, 9), at(1, 60, 7), at(2, 90, 9),
			at(1, 120, 7), at(2, 150, 9)}, 6},
		"two loggers that agree":         {[]Reading{at(1, 0, 7), at(2, 30, 8), at(1, 60, 7), at(2, 90, 8)}, 0},
		"one file":                       {[]Reading{at(1, 0, 7), at(1, 30, 12)}, 0},
		"the same instant sent twice":    {[]Reading{at(1, 0, 7), at(2, 0, 12), at(3, 30, 12)}, 2},
		"daily values beside instants":   {[]Reading{daily(1, 7), at(2, 0, 12)}, 0},
		"two daily values":               {[]Reading{daily(1, 7), daily(2, 9), at(3, 0, 12)}, 2},
		"a third file that agrees apart": {[]Reading{at(1, 0, 7), at(2, 10, 9), at(1, 20, 7), at(3, 40, 9)}, 2 + 1},
	} {
		MarkDisputed(x.list)
		n := 0
		for _, r := range x.list {
			if r.Reason == ReasonDisputed {
				n++
			}
		}
		if n != x.want {
			t.Errorf("%s: %d disputed, want %d", name, n, x.want)
		}
	}
}
