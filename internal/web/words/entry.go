package words

import (
	"slices"
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/ui"
)

// Reasons are why an entry is corrected (requirement Q3), as stored and as keys
// of their texts.
var Reasons = []string{"misread", "mistyped", "wrong_tank", "wrong_unit", "wrong_date", "late_entry", "twice", "other"}

func ReasonOptions(p *i18n.Printer) []ui.Option {
	var out []ui.Option
	for _, r := range Reasons {
		out = append(out, ui.Option{Value: r, Label: p.T("reason." + r)})
	}
	return out
}

// ReasonText writes a stored reason; one from elsewhere is shown as it is.
func ReasonText(p *i18n.Printer, reason string) string {
	code, text, _ := strings.Cut(reason, ": ")
	if !slices.Contains(Reasons, code) {
		return reason
	}
	if text == "" {
		return p.T("reason." + code)
	}
	return p.T("reason."+code) + ": " + text
}

// Corrections is how often an entry was changed; taking it back is not a change.
func Corrections(e logbook.Entry) int {
	n := int(e.Revision) - 1
	if e.Voided {
		n--
	}
	return max(0, n)
}

// CheckMark says what happened to a check after it was made.
func CheckMark(c *logbook.Check, loc *time.Location) ui.EntryMark {
	return ui.EntryMark{Late: c.Late(loc), Corrections: Corrections(c.Entry), Voided: c.Voided}
}

// EventMark says what happened to an event after it was entered.
func EventMark(e *logbook.Event) ui.EntryMark {
	return ui.EntryMark{Corrections: Corrections(e.Entry), Voided: e.Voided}
}

func CheckLabel(p *i18n.Printer) func(field string) string {
	return func(field string) string {
		return ui.CheckFieldLabel(ui.Page{P: p}, field, p.UnitSymbol())
	}
}

// EnteredAt is the time of day at which a check was made or first stored.
func EnteredAt(p *i18n.Printer, s *logbook.Season, c *logbook.Check) string {
	if c.Time != "" {
		return c.Time
	}
	loc := s.Site.Location()
	if civil.In(c.ReceivedAt, loc) == c.On {
		return p.Clock(c.ReceivedAt, loc)
	}
	return p.When(c.ReceivedAt, loc)
}

// EnteredBy names the group, or else the role, that made a check.
func EnteredBy(p *i18n.Printer, c *logbook.Check) string {
	if c.Observer != "" {
		return c.Observer
	}
	return ByRole(p, c.Entry)
}

func ByRole(p *i18n.Printer, e logbook.Entry) string {
	if e.ByLabel != "" {
		return e.ByLabel
	}
	return Word(p, e.By)
}

func CheckAt(s *logbook.Season, on civil.Date, slot logbook.Slot) *logbook.Check {
	for i := range s.Checks {
		if c := &s.Checks[i]; c.On == on && c.Slot == slot {
			return c
		}
	}
	return nil
}

// KnownBy puts how a model is known into one of four words.
func KnownBy(how string) string {
	for _, k := range []string{"assumption", "derived", "read", "memory"} {
		if strings.HasPrefix(how, k) {
			return k
		}
	}
	return "memory"
}
