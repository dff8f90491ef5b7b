package form

import (
	"slices"

	"reddside/internal/logbook"
	"reddside/internal/web/words"
)

// FormReason reads why an entry is corrected: one of the list, with words where
// the list does not say enough. It is stored as "misread: held it upside down".
func FormReason(f *Form) string {
	code, text := f.Text("reason"), f.Text("reason_text")
	switch {
	case code == "":
		f.Fail("reason", "reason.empty", nil)
	case !slices.Contains(words.Reasons, code):
		f.Fail("reason", "choice.unknown", nil)
	case code == "other" && text == "":
		f.Fail("reason_text", "reason.words", nil)
	case len([]rune(text)) > logbook.MaxWords:
		f.Fail("reason_text", "entry.too_long", logbook.Args{"Max": logbook.MaxWords})
	}
	if text == "" {
		return code
	}
	return code + ": " + text
}
