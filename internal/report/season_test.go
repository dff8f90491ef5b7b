package report

import (
	"reflect"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

func day(s string) civil.Date { return civil.MustParse(s) }

// Invented fortnight: Monday 5 to Sunday 18 January 2026.
func season() *logbook.Season {
	entered := time.Date(2026, 1, 5, 12, 0, 0, 0, time.UTC)
	s := &logbook.Season{Site: logbook.Site{Zone: "UTC"},
		Deliveries: []logbook.Delivery{{On: day("2026-01-05"), Count: 100}},
		ClosedDays: []logbook.ClosedSpan{{From: day("2026-01-08"), To: day("2026-01-09")}}}
	for _, on := range []string{"2026-01-05", "2026-01-06", "2026-01-10", "2026-01-12"} {
		s.Checks = append(s.Checks, logbook.Check{On: day(on), Slot: logbook.Morning,
			Entry: logbook.Entry{ReceivedAt: entered, Revision: 1}})
	}
	s.Checks[1].Revision = 2
	s.Checks[3].ReceivedAt = time.Date(2026, 1, 15, 12, 0, 0, 0, time.UTC)
	return s
}

func TestCompleteness(t *testing.T) {
	got := CompletenessOf(season(), day("2026-01-18"), false)
	// Ten weekdays less the day of delivery and two closed ones; a check on a Saturday counts as a check only.
	want := Completeness{DaysDue: 7, DaysChecked: 2, Share: 2.0 / 7, Checks: 4, Corrected: 1, Late: 1, CorrectedPct: 25,
		LatePct:    25,
		LongestGap: 4, Gaps: []Gap{{day("2026-01-07"), day("2026-01-07"), 1}, {day("2026-01-13"), day("2026-01-16"),
			4}}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v, want %+v", got, want)
	}
	if got := CompletenessOf(season(), day("2026-01-18"), true); got.DaysDue != 11 || got.DaysChecked != 3 {
		t.Errorf("with weekends %+v", got)
	}
	s := season()
	s.ClosedOn = day("2026-01-06")
	s.Checks = s.Checks[:2]
	if got := CompletenessOf(s, day("2026-01-18"), false); got.DaysDue != 1 || got.Share != 1 {
		t.Errorf("closed season %+v", got)
	}
	if got := CompletenessOf(&logbook.Season{}, day("2026-01-18"), false); !reflect.DeepEqual(got, Completeness{}) {
		t.Errorf("before any delivery %+v", got)
	}
}
