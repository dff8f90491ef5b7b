package rules

import (
	"slices"
	"time"

	"reddside/internal/logbook"
)

// End is why a flag is over.
type End string

// The ends. Only EndSolved says that what raised it was seen to be right again.
const (
	EndSolved End = "solved" // back in range, seen by an entry after it was raised
	EndPart   End = "part"   // another flag tells it now
	EndGone   End = "gone"   // it applies no more: an entry was corrected, or its time is over
	EndLimit  End = "limit"  // a limit was changed
	EndSeason End = "season" // no fish are left, or the season has ended
)

// takers are rules whose flag tells what another one told before, outside of its
// family: warm water behind a chiller that stopped.
var takers = map[string][]string{
	"chiller_stopped": {"temperature_departure", "temperature_high"},
	"power_out":       {"temperature_departure", "temperature_high", "temperature_low", "oxygen"},
	"ammonia_no_ph":   {"ammonia"},
	"water_cloudy":    {"ammonia"},
	"fungus":          {"dead_count"},
}

// EndOf says why a flag of a rule, raised at a time, is over in an assessment that no
// longer says it. by is the rule whose flag took it over, "" for none. limits is when
// a limit was last changed, zero for never.
func EndOf(rule string, raised time.Time, s *logbook.Season, a *Assessment, limits time.Time) (why End, by string) {
	if !a.Active {
		return EndSeason, ""
	}
	family := FamilyOf(rule)
	for i := range a.Flags {
		f := &a.Flags[i]
		if f.Kind != Act && f.Kind != Watch || f.Rule == rule {
			continue
		}
		if family == Temperature && FamilyOf(f.Rule) == Temperature || slices.Contains(takers[rule], f.Rule) {
			return EndPart, f.Rule
		}
	}
	last := seenAfter(rule, family, s, raised)
	switch {
	case !limits.Before(raised) && last.Before(limits):
		return EndLimit, ""
	case !last.IsZero():
		return EndSolved, ""
	}
	return EndGone, ""
}

// FamilyOf returns the family of a rule, "" for a name that is none.
func FamilyOf(rule string) Family {
	for _, family := range families() {
		for i := range family {
			if family[i].ID == rule {
				return family[i].Family
			}
		}
	}
	return ""
}

// seenAfter is when the newest entry after a time came that says how what the rule
// watches is; zero when none did.
func seenAfter(rule string, family Family, s *logbook.Season, raised time.Time) (last time.Time) {
	later := func(at time.Time) {
		if at.After(raised) && at.After(last) {
			last = at
		}
	}
	for i := range s.Checks {
		if c := &s.Checks[i]; tells(rule, family, c) {
			later(c.ReceivedAt)
		}
	}
	if family == Temperature {
		for i := range s.Readings {
			if r := &s.Readings[i]; r.Quality == logbook.Good {
				later(r.At)
			}
		}
	}
	if family != Temperature && family != Deaths {
		for i := range s.Events {
			later(s.Events[i].ReceivedAt)
		}
	}
	return last
}

// tells reports whether a check says how what a rule of a family watches is.
func tells(rule string, family Family, c *logbook.Check) bool {
	switch {
	case family == Temperature:
		return c.Temperature.OK
	case family == Deaths:
		return c.DeadEggs.OK || c.DeadAlevins.OK || c.DeadFry.OK
	case rule == "chiller_stopped":
		return c.Chiller != "" && c.Chiller != logbook.NotChecked
	case rule == "filter_stopped":
		return c.Filter != "" && c.Filter != logbook.NotChecked
	case rule == "air_pump_stopped":
		return c.AirPump != "" && c.AirPump != logbook.NotChecked
	}
	return true
}
