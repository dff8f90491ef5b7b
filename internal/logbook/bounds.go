package logbook

import (
	"slices"
	"strconv"
	"unicode/utf8"

	"reddside/internal/civil"
)

// The longest text of each kind, in characters; local choices. Every way in is held
// to them by the Validate of its type.
const (
	MaxLabel  = 40   // what a season is called
	maxName   = 80   // a name, a group, a number of a permit
	MaxReason = 300  // why a decision was taken
	MaxWords  = 400  // why an entry was corrected, beside the reason of the list
	maxNote   = 2000 // a note
)

// tooLong returns a problem when a text is longer than most characters.
func tooLong(field, s string, most int) []Problem {
	if utf8.RuneCountInString(s) > most {
		return []Problem{{Field: field, Key: "entry.too_long", Args: Args{"Max": most}}}
	}
	return nil
}

// ValidateCorrection returns what is wrong with the length of a stored reason: a word
// of the list with words of the person beside it.
func ValidateCorrection(reason string) []Problem { return tooLong("reason", reason, MaxWords+maxName) }

// firstYear and lastYear bound the years of every date: classroom hatcheries are
// younger (a local choice), so another year was typed wrongly, as 0026 for 2026.
const (
	firstYear = 1970
	lastYear  = 2200
)

// wrongYear returns a problem when a date that was given has an impossible year.
func wrongYear(field string, d civil.Date) []Problem {
	if d.IsZero() {
		return nil
	}
	if y, _, _ := d.YMD(); y < firstYear || y > lastYear {
		return []Problem{{Field: field, Key: "date.year", Args: Args{"On": d, "First": strconv.Itoa(firstYear),
			"Last": strconv.Itoa(lastYear)}}}
	}
	return nil
}

// ValidateDetails returns what is wrong with what is said of a season itself: its
// label and its days.
func (s *Season) ValidateDetails(today civil.Date) []Problem {
	out := validText("label", s.Label, MaxLabel)
	out = append(out, s.ValidateRelease(today)...)
	return append(out, s.ValidateClosing(today)...)
}

// ValidateEdit is ValidateDetails for a change of have: a label that was stored
// before it was bounded, and stays, is in nobody's way.
func (s *Season) ValidateEdit(have *Season, today civil.Date) []Problem {
	out := s.ValidateDetails(today)
	if have.PermitID != "" && (s.ReleaseFrom != have.ReleaseFrom || s.ReleaseBy != have.ReleaseBy) {
		out = append(out, Problem{Field: "release_from", Key: "season.days_in_permit"})
	}
	if s.Label != "" && s.Label == have.Label {
		out = slices.DeleteFunc(out, func(p Problem) bool { return p.Field == "label" })
	}
	return out
}
