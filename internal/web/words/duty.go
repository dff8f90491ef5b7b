package words

import (
	"reddside/internal/i18n"
	"reddside/internal/logbook"
)

// DutySentence says whose turn it is today, "" when nobody was named.
func DutySentence(p *i18n.Printer, t logbook.DutyTurn) string {
	switch {
	case t.Who == "":
		return ""
	case t.Cover != nil:
		return p.T("duty.cover_today", logbook.Args{"Who": t.Who, "To": p.DateShort(t.Cover.To)})
	}
	return p.T("duty.today", logbook.Args{"Who": t.Who})
}
