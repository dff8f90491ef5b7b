package form

import (
	"errors"
	"regexp"
	"strings"

	"reddside/internal/civil"
	"reddside/internal/logbook"
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

// LotRefused puts beside the lot why its season cannot begin; false for another
// error.
func (f *Form) LotRefused(err error) bool {
	var e *logbook.Error
	refused := errors.As(err, &e) && (e.Key == "error.season.open" || e.Key == "error.lot.elsewhere")
	if refused {
		f.Fail("lot", e.Key, e.Args)
	}
	return refused
}

func ReadRelease(f *Form, season *logbook.Season, today civil.Date) {
	season.ReleaseFrom, season.ReleaseBy = f.Date("release_from"), f.Date("release_by")
	f.Add(season.ValidateRelease(today))
}

// FillSample takes from the weights of single fish what was not said.
func FillSample(m *logbook.Sample, hasCount, hasTotal bool) {
	if len(m.Weights) == 0 {
		return
	}
	if !hasCount {
		m.Count = len(m.Weights)
	}
	if !hasTotal {
		m.Total = 0
		for _, w := range m.Weights {
			m.Total += w
		}
	}
}
