// Package report sums seasons up: survival, how complete the log is, and the
// tables of the export. Everything is a pure function of what was loaded.
package report

import (
	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// Completeness is how well a season was looked after on paper (requirement
// Q10). Shares are 0 when there is nothing to share.
type Completeness struct {
	DaysDue      int     `json:"days_due"`     // from the delivery to today or the close
	DaysChecked  int     `json:"days_checked"` // of the days due
	Share        float64 `json:"share"`
	Checks       int     `json:"checks"`
	Corrected    int     `json:"corrected"`
	Late         int     `json:"late"`
	CorrectedPct float64 `json:"corrected_percent"`
	LatePct      float64 `json:"late_percent"`
	// LongestGap is the most days due in a row without a check.
	LongestGap int   `json:"longest_gap_days"`
	Gaps       []Gap `json:"-"`
}

// Gap is a stretch of days due without a check; closed days and weekends in it do
// not count as due.
type Gap struct {
	From, To civil.Date
	Days     int
}

// CompletenessOf counts the days to the end of today on which a check was due:
// all days of the season after the day of delivery but those that the site marked as closed and the
// Saturdays and Sundays on which nobody looks; weekends is what sites without a
// setting of their own do.
func CompletenessOf(s *logbook.Season, today civil.Date, weekends bool) Completeness {
	var c Completeness
	start, end := s.StartedOn(), today
	if start.IsZero() {
		return c
	}
	if !s.ClosedOn.IsZero() {
		end = civil.Min(end, s.ClosedOn)
	}
	loc := s.Site.Location()
	looked := map[civil.Date]bool{}
	for i := range s.Checks {
		k := &s.Checks[i]
		if k.On.After(today) {
			continue
		}
		looked[k.On] = true
		c.Checks++
		if k.Corrected() {
			c.Corrected++
		}
		if k.Late(loc) {
			c.Late++
		}
	}
	open := false
	for d := start; !d.After(end); d = d.AddDays(1) {
		if !s.CheckDue(d, weekends) {
			continue
		}
		c.DaysDue++
		if looked[d] {
			c.DaysChecked++
			open = false
			continue
		}
		if !open {
			c.Gaps = append(c.Gaps, Gap{From: d})
		}
		open = true
		g := &c.Gaps[len(c.Gaps)-1]
		g.To, g.Days = d, g.Days+1
		c.LongestGap = max(c.LongestGap, g.Days)
	}
	if c.DaysDue > 0 {
		c.Share = float64(c.DaysChecked) / float64(c.DaysDue)
	}
	if c.Checks > 0 {
		c.CorrectedPct = 100 * float64(c.Corrected) / float64(c.Checks)
		c.LatePct = 100 * float64(c.Late) / float64(c.Checks)
	}
	return c
}
