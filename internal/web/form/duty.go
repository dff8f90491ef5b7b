package form

import (
	"reddside/internal/logbook"
	"reddside/internal/web/words"
)

// readWhy reads why days are changed.
func ReadWhy(f *Form) string {
	why := f.Text("why")
	switch {
	case why == "":
		f.Fail("why", "error.reason", nil)
	case len([]rune(why)) > words.MaxReason:
		f.Fail("why", "entry.too_long", logbook.Args{"Max": words.MaxReason})
	}
	return why
}
