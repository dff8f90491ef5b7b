package form

import (
	"reddside/internal/logbook"
)

// ReadWhy reads why days are changed.
func ReadWhy(f *Form) string {
	why := f.Text("why")
	switch {
	case why == "":
		f.Fail("why", "error.reason", nil)
	case len([]rune(why)) > logbook.MaxReason:
		f.Fail("why", "entry.too_long", logbook.Args{"Max": logbook.MaxReason})
	}
	return why
}
