package web

import (
	"slices"
	"strings"
	"time"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/view"
)

// reasons are why an entry is corrected (requirement Q3), as stored and as keys
// of their texts.
var reasons = []string{"misread", "wrong_tank", "wrong_unit", "wrong_date", "late_entry", "other"}

func reasonOptions(p *i18n.Printer) []view.Option {
	var out []view.Option
	for _, r := range reasons {
		out = append(out, view.Option{Value: r, Label: p.T("reason." + r)})
	}
	return out
}

// formReason reads why an entry is corrected: one of the list, with words where
// the list does not say enough. It is stored as "misread: held it upside down".
func formReason(f *form) string {
	code, text := f.text("reason"), f.text("reason_text")
	switch {
	case code == "":
		f.fail("reason", "reason.empty", nil)
	case !slices.Contains(reasons, code):
		f.fail("reason", "choice.unknown", nil)
	case code == "other" && text == "":
		f.fail("reason_text", "reason.words", nil)
	case len([]rune(text)) > 400:
		f.fail("reason_text", "entry.too_long", logbook.Args{"Max": 400})
	}
	if text == "" {
		return code
	}
	return code + ": " + text
}

// reasonText writes a stored reason; one from elsewhere is shown as it is.
func reasonText(p *i18n.Printer, reason string) string {
	code, text, _ := strings.Cut(reason, ": ")
	if !slices.Contains(reasons, code) {
		return reason
	}
	if text == "" {
		return p.T("reason." + code)
	}
	return p.T("reason."+code) + ": " + text
}

// corrections is how often an entry was changed; taking it back is not a change.
func corrections(e logbook.Entry) int {
	n := int(e.Revision) - 1
	if e.Voided {
		n--
	}
	return max(0, n)
}

// checkMark says what happened to a check after it was made.
func checkMark(c *logbook.Check, loc *time.Location) view.EntryMark {
	return view.EntryMark{Late: c.Late(loc), Corrections: corrections(c.Entry), Voided: c.Voided}
}

// eventMark says what happened to an event after it was entered.
func eventMark(e *logbook.Event) view.EntryMark {
	return view.EntryMark{Corrections: corrections(e.Entry), Voided: e.Voided}
}
