package words

import (
	"fmt"
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/ui"
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

func KeyedOptions[T interface {
	~string
	i18n.Keyed
}](p *i18n.Printer, values []T) []ui.Option {
	var out []ui.Option
	for _, v := range values {
		out = append(out, ui.Option{Value: string(v), Label: p.T(v.MessageKey())})
	}
	return out
}

func WeekendsValue(w logbook.Weekends) string {
	if w == "" {
		return "programme"
	}
	return string(w)
}

func ReadWeekends(s string) logbook.Weekends {
	if s == "programme" {
		return ""
	}
	return logbook.Weekends(s)
}

// SeasonLabel is the school year of a day: it changes on 1 July.
func SeasonLabel(d civil.Date) string {
	y, m, _ := d.YMD()
	if m < 7 {
		y--
	}
	return fmt.Sprintf("%d-%02d", y, (y+1)%100)
}

// EntryNoteEvery is how exactly it is noted when a tablet last sent something.
const EntryNoteEvery = 5 * time.Minute

// Deviations are the codes of what a release departed from, in words.
func Deviations(p *i18n.Printer, codes string) string {
	var out []string
	for _, code := range strings.Fields(codes) {
		out = append(out, p.T(logbook.DeviationKey(code)))
	}
	return strings.Join(out, "; ")
}
