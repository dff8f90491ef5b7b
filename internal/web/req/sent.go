package req

import (
	"net/http"
	"slices"
	"strings"

	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/web/form"
)

// Sent is an entry that a form sends to a season: its key, what could not be
// read, and the surprising values whose box is ticked or that were confirmed
// before and stayed as they were.
func Sent(r *http.Request, season *logbook.Season, f *form.Form) entries.Sent {
	v := Of(r)
	return entries.Sent{Actor: v.Actor, Season: season, Now: v.Now, Key: form.FormKey(f.Text("key")), Unread: f.Problems,
		Confirmed: func(field string) bool {
			// "was_confirmed" holds fields and values, one a line: a changed value is asked
			// about again.
			said := strings.Split(strings.ReplaceAll(strings.Join(f.Values["was_confirmed"], "\n"), "\r", ""), "\n")
			return slices.Contains(f.Values["confirm"], field) || slices.Contains(said, field+"="+f.Text(field))
		}}
}
