package rules

import (
	"testing"
	"time"
)

// A copy elsewhere is spoken of when it is late or did not stand the drill, and
// never while it is in step.
func TestCopyElsewhere(t *testing.T) {
	now := time.Date(2026, 2, 10, 8, 0, 0, 0, time.UTC)
	for name, c := range map[string]struct {
		copy *ElsewhereCopy
		want string
	}{
		"none kept": {nil, ""},
		"in step":   {&ElsewhereCopy{Place: "stick"}, ""},
		"late":      {&ElsewhereCopy{Place: "stick", Behind: 3 * time.Hour, Late: true}, "copy_behind"},
		"no copy":   {&ElsewhereCopy{Place: "stick", Failed: true}, "copy_unproven"},
	} {
		got := ""
		for _, f := range AssessProgramme(ProgrammeInput{Now: now, LastBackup: now.Add(-time.Hour), Elsewhere: c.copy}) {
			if got += f.Rule; f.Kind != Act || len(f.Do) == 0 {
				t.Errorf("%s: kind %s with %d steps", name, f.Kind, len(f.Do))
			}
		}
		if got != c.want {
			t.Errorf("%s: flags %q, want %q", name, got, c.want)
		}
	}
}
