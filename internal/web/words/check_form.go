package words

import (
	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/ui"
)

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
