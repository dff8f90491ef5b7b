package form

import (
	"strconv"

	"reddside/internal/web/ui"
)

func RevisionField(n int64) ui.Option {
	return ui.Option{Value: "revision", Label: strconv.FormatInt(n, 10)}
}

// Revision reads the revision that an edit started from.
func (f *Form) Revision() int64 {
	n, err := strconv.ParseInt(f.Text("revision"), 10, 64)
	if err != nil {
		f.Fail("revision", "error.stale", nil)
	}
	return n
}
