//go:build unix

package rules_test

import (
	"syscall"
	"testing"
	"time"

	"reddside/internal/rules"
)

// A thousand seasons of 180 days take at most 3 s on two cores: a hundred take at
// most 0.6 s of processor time, whatever else the machine does.
func TestReplayIsQuick(t *testing.T) {
	if testing.Short() {
		t.Skip("a measurement")
	}
	const seasons, allowed = 100, 600 * time.Millisecond
	many := manySeasons(seasons)
	best := time.Hour
	for range 20 { // what shares the machine slows a run, and none is faster than it is
		before := processorTime(t)
		r := rules.Replay(many, rules.StockProfile(), rules.ReplayOptions{})
		best = min(best, processorTime(t)-before)
		if r.Days < 170*seasons {
			t.Fatal(r.Days)
		}
		if best <= allowed {
			break
		}
	}
	t.Logf("%v of processor time for %d seasons", best, seasons)
	if best > allowed {
		t.Errorf("%v of processor time, at most %v", best, allowed)
	}
}

func processorTime(t *testing.T) time.Duration {
	t.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		t.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
