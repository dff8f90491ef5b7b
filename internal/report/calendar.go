package report

import (
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"reddside/internal/civil"
)

// CalendarEvent is something that takes whole days; To is the last of them. UID
// names it for ever, so that a calendar moves it instead of adding another.
type CalendarEvent struct {
	UID                  string
	From, To             civil.Date
	Summary, Description string
}

// WriteCalendar writes an iCalendar feed of whole days (RFC 5545, read): they have
// no time, so no zone can move them. A day is given as VALUE=DATE with the day
// after the last as its end.
func WriteCalendar(w io.Writer, name string, stamp time.Time, events []CalendarEvent) error {
	var b strings.Builder
	line := func(s string) { fold(&b, s) }
	line("BEGIN:VCALENDAR")
	line("VERSION:2.0")
	line("PRODID:-//Reddside//Calendar 1//EN")
	line("CALSCALE:GREGORIAN")
	line("METHOD:PUBLISH")
	line("X-WR-CALNAME:" + calendarText(name))
	for _, e := range events {
		line("BEGIN:VEVENT")
		line("UID:" + calendarText(e.UID))
		line("DTSTAMP:" + stamp.UTC().Format("20060102T150405Z"))
		line("DTSTART;VALUE=DATE:" + calendarDay(e.From))
		line("DTEND;VALUE=DATE:" + calendarDay(civil.Max(e.From, e.To).AddDays(1)))
		line("SUMMARY:" + calendarText(e.Summary))
		if e.Description != "" {
			line("DESCRIPTION:" + calendarText(e.Description))
		}
		line("TRANSP:TRANSPARENT")
		line("END:VEVENT")
	}
	line("END:VCALENDAR")
	_, err := io.WriteString(w, b.String())
	return err
}

func calendarDay(d civil.Date) string { return strings.ReplaceAll(d.String(), "-", "") }

// calendarText escapes a text value; control characters are left out.
func calendarText(s string) string {
	s = strings.NewReplacer(`\`, `\\`, ";", `\;`, ",", `\,`, "\r\n", `\n`, "\n", `\n`).Replace(s)
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, ""))
}

// fold writes a content line in pieces of at most 75 octets, never inside a
// character.
func fold(b *strings.Builder, s string) {
	const most = 75
	room := most
	for s != "" {
		n := 0
		for n < len(s) {
			_, size := utf8.DecodeRuneInString(s[n:])
			if n+size > room {
				break
			}
			n += size
		}
		b.WriteString(s[:n])
		b.WriteString("\r\n")
		if s = s[n:]; s != "" {
			b.WriteByte(' ')
			room = most - 1
		}
	}
}
