package help

import (
	"os"
	"strings"
	"testing"

	"reddside/internal/i18n"
	"reddside/internal/units"
)

// TestReadmeSaysTheSame: whoever reads the README before the program runs and
// whoever opens Help afterwards read the same words, in the same order.
func TestReadmeSaysTheSame(t *testing.T) {
	b, err := os.ReadFile("../../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	cat, err := i18n.Load()
	if err != nil {
		t.Fatal(err)
	}
	p := cat.Printer("en", units.Cel)
	rest := string(b)
	for _, x := range append(Steps(p), Questions(p)...) {
		want := "**" + x.Title + "** " + x.Text
		_, after, ok := strings.Cut(rest, want)
		if !ok {
			t.Errorf("the README does not say, after what comes before it:\n%s", want)
			continue
		}
		rest = after
	}
}
