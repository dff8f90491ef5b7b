package report

import (
	"testing"

	"reddside/internal/units"
)

// The bound is a local choice: below 1 % of the larger, and 1 anyhow. 1 % of 300 is 3.
func TestTwoCountsThatAreClose(t *testing.T) {
	for _, c := range []struct {
		a, b  int
		close bool
	}{{10, 11, true}, {10, 12, false}, {300, 298, true}, {300, 297, false}, {187, 185, false}, {0, 0, true}} {
		n, ok := Agreed(units.Some(c.a), units.Some(c.b), units.None[int]())
		if CountsClose(c.a, c.b) != c.close || CountsClose(c.b, c.a) != c.close || ok != c.close ||
			ok && n != max(c.a, c.b) {
			t.Errorf("%d and %d: %d %v", c.a, c.b, n, ok)
		}
	}
}
