package rules

import (
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// CheckMissing is the rule of a check that was not made.
const CheckMissing = "check_missing"

func checkRules() []Rule {
	return []Rule{checkMissing(), nobodyLooked(), lateEntries()}
}

func checkMissing() Rule {
	return newRule(CheckMissing, Looking, logbook.Keeper, today, 1,
		[]string{"do_check", "mark_closed", "find_cover"}, CheckActDays, CheckWeekends)
}

func nobodyLooked() Rule {
	return newRule("nobody_looked", Looking, logbook.Keeper, today, 3,
		[]string{"find_cover", "do_check"}, CheckGapDays)
}

func lateEntries() Rule {
	return newRule("late_entries", Looking, logbook.Coordinator, thisWeek, 30,
		[]string{"talk_routine", "check_paper"}, LateChecks, LateDays)
}

// due reports whether a check is due on day d by the site's calendar.
func (a *assessor) due(d civil.Date) bool {
	return !a.s.SchoolClosed(d) && a.s.Site.LooksOn(d, a.p.any(CheckWeekends) != 0)
}

// lookedOn returns the day of the last look at the tank: the last check, or the
// delivery before any check.
func (a *assessor) lookedOn() civil.Date {
	return civil.Max(a.out.LastCheck.On, a.s.StartedOn())
}

// checksMade raises the missing check: due on the day, act after as many missed
// days as the profile allows. Across days on which no check is due, it watches
// that the tank is not left alone for too long.
func (a *assessor) checksMade() {
	looked := a.lookedOn()
	missed, first := 0, civil.Date{}
	for d := looked.AddDays(1); !d.After(a.today); d = d.AddDays(1) {
		if !a.due(d) {
			continue
		}
		if first.IsZero() {
			first = d
		}
		if d != a.today {
			missed++
		}
	}
	if first.IsZero() {
		a.leftAlone(looked)
		return
	}
	r := checkMissing()
	f := Flag{Kind: Due, Subject: "tank", Since: first}
	args := logbook.Args{"Last": looked, "Count": missed}
	switch {
	case missed >= int(a.p.any(CheckActDays)):
		f.Kind, f.Class = Act, text(r.ID, "class_act")
		f.Headline = headline(r.ID, "act", args)
	case missed > 0:
		f.Headline = headline(r.ID, "missed", args)
	default:
		f.Headline = headline(r.ID, "", nil)
	}
	a.raise(r, f)
}

func (a *assessor) leftAlone(looked civil.Date) {
	days := a.today.Sub(looked)
	if days <= int(a.p.any(CheckGapDays)) {
		return
	}
	r := nobodyLooked()
	a.raise(r, Flag{Kind: Watch, Subject: "tank", Since: looked.AddDays(1), Headline: headline(r.ID, "", logbook.Args{
		"Count": days, "Last": looked,
	})})
}

// late raises many late or corrected checks, for the coordinator.
func (a *assessor) late() {
	from := a.today.AddDays(1 - int(a.p.any(LateDays)))
	count := 0
	var since civil.Date
	for i := len(a.s.Checks) - 1; i >= 0 && !a.s.Checks[i].On.Before(from); i-- {
		if c := &a.s.Checks[i]; !c.ReceivedAt.After(a.now) && (c.Corrected() || a.isLate(i)) {
			count++
			since = c.On
		}
	}
	if count < int(a.p.any(LateChecks)) {
		return
	}
	r := lateEntries()
	a.raise(r, Flag{Kind: Note, Subject: "log", Since: since, Headline: headline(r.ID, "", logbook.Args{
		"Count": count, "Days": int(a.p.any(LateDays)),
	})})
}

// isLate asks the check. Finding a time zone is slow, so the checks that are
// late in no zone of the world are passed over first.
func (a *assessor) isLate(i int) bool {
	if a.track != nil {
		return a.track.late[i]
	}
	c := &a.s.Checks[i]
	const eastmost = 14 * time.Hour
	soonest := c.On.UTC().Add(48*time.Hour - eastmost)
	if t, err := time.Parse("15:04", c.Time); err == nil {
		soonest = c.On.UTC().Add(time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute +
			24*time.Hour - eastmost)
	}
	if c.ReceivedAt.Before(soonest) {
		return false
	}
	if a.zone == nil {
		a.zone = a.s.Site.Location()
	}
	return c.Late(a.zone)
}
