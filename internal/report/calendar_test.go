package report

import (
	"bytes"
	"strings"
	"testing"
	"time"
	"unicode/utf8"
)

// Long and awkward texts survive folding (RFC 5545, 3.1: 75 octets, CRLF).
func TestCalendarFolds(t *testing.T) {
	for n := range 160 {
		text := strings.Repeat("é", n) + "x"
		var b bytes.Buffer
		if err := WriteCalendar(&b, "n", time.Unix(0, 0),
			[]CalendarEvent{{UID: "u", From: day("2026-02-28"), Summary: text}}); err != nil {
			t.Fatal(err)
		}
		for _, l := range strings.Split(b.String(), "\r\n") {
			if len(l) > 75 || !utf8.ValidString(l) {
				t.Errorf("line %q of %d octets", l, len(l))
			}
		}
		whole := strings.ReplaceAll(b.String(), "\r\n ", "")
		if !strings.Contains(whole, "SUMMARY:"+text+"\r\n") ||
			!strings.Contains(whole, "DTEND;VALUE=DATE:20260301\r\n") {
			t.Errorf("after unfolding: %q", whole)
		}
	}
}
