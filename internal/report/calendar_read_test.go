package report

import (
	"bytes"
	"io"
	"testing"
	"time"

	"github.com/emersion/go-ical"
	"pgregory.net/rapid"

	"reddside/internal/civil"
)

// An independent reader of iCalendar (RFC 5545) reads back what was written:
// whatever the texts hold, each event keeps its name, its words and its days, and
// the calendar has every property that the standard requires.
func TestCalendarReadByAnother(t *testing.T) {
	texts := rapid.StringOf(rapid.SampledFrom([]rune("aé œ;,:\\\"\n—x9°"))).Filter(func(s string) bool { return s != "" })
	rapid.Check(t, func(rt *rapid.T) {
		var events []CalendarEvent
		for i := range rapid.IntRange(1, 6).Draw(rt, "n") {
			from := civil.MustParse("2026-01-01").AddDays(rapid.IntRange(0, 800).Draw(rt, "from"))
			events = append(events, CalendarEvent{UID: string(rune('a'+i)) + "@reddside", From: from,
				To:      from.AddDays(rapid.IntRange(0, 40).Draw(rt, "days")),
				Summary: texts.Draw(rt, "summary"), Description: texts.Draw(rt, "description")})
		}
		var b bytes.Buffer
		if err := WriteCalendar(&b, texts.Draw(rt, "name"), time.Unix(1767225600, 0), events); err != nil {
			rt.Fatal(err)
		}
		cal, err := ical.NewDecoder(bytes.NewReader(b.Bytes())).Decode()
		if err != nil {
			rt.Fatalf("%v in\n%s", err, b.String())
		}
		// The encoder of that library refuses a calendar without the required properties.
		if err := ical.NewEncoder(io.Discard).Encode(cal); err != nil {
			rt.Fatal(err)
		}
		read := cal.Events()
		if len(read) != len(events) {
			rt.Fatalf("%d events read, %d written", len(read), len(events))
		}
		for i, e := range read {
			want := events[i]
			from, err1 := e.DateTimeStart(time.UTC)
			to, err2 := e.DateTimeEnd(time.UTC)
			if err1 != nil || err2 != nil || !from.Equal(want.From.UTC()) || !to.Equal(want.To.AddDays(1).UTC()) {
				rt.Errorf("from %v to %v, want the days %s to %s (%v %v)", from, to, want.From, want.To, err1, err2)
			}
			for name, text := range map[string]string{ical.PropUID: want.UID, ical.PropSummary: want.Summary,
				ical.PropDescription: want.Description} {
				if got, err := e.Props.Text(name); err != nil || got != text {
					rt.Errorf("%s is %q, want %q (%v)", name, got, text, err)
				}
			}
			if v := e.Props.Get(ical.PropDateTimeStart).ValueType(); v != ical.ValueDate {
				rt.Errorf("the start is a %s", v)
			}
		}
	})
}
