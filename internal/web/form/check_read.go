package form

import (
	"regexp"
	"strings"
)

var clockTime = regexp.MustCompile(`^(\d{1,2})\s*(?:[:.]|[hH])\s*(\d{2})$`)

// ReadTime reads a time of day, as 8:10, 08.10 or 8 h 10.
func ReadTime(f *Form, field string) string {
	s := f.Text(field)
	if m := clockTime.FindStringSubmatch(s); m != nil {
		if len(m[1]) == 1 {
			m[1] = "0" + m[1]
		}
		return m[1] + ":" + m[2]
	}
	return s
}

// ReadNote keeps line breaks but in one form, so that the same note sent by two
// browsers is the same.
func ReadNote(f *Form, field string) string {
	return strings.ReplaceAll(f.Text(field), "\r\n", "\n")
}
