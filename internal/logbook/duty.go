package logbook

import (
	"time"
	"unicode/utf8"

	"reddside/internal/civil"
)

// MaxDutyWho bounds the words for who looks, in characters: a group or a role,
// never a person's name.
const MaxDutyWho = 40

// maxCoverNote bounds the note of a cover, in characters.
const maxCoverNote = 200

// Weekends says whether a site looks at its tanks on Saturdays and Sundays.
type Weekends string

// The weekends of a site. The empty value follows the limit of the programme.
const (
	WeekendsLookedAt  Weekends = "looked_at"
	WeekendsLeftAlone Weekends = "left_alone"
)

// AllWeekends lists the settings in the order of choice lists.
func AllWeekends() []Weekends { return []Weekends{"", WeekendsLookedAt, WeekendsLeftAlone} }

// Valid reports whether w is a known setting.
func (w Weekends) Valid() bool {
	return w == "" || w == WeekendsLookedAt || w == WeekendsLeftAlone
}

// LooksOn reports whether somebody looks at the tanks of the site on such a
// weekday; programme is what sites without a setting of their own do at
// weekends. Closed days are another matter: see Season.SchoolClosed.
func (s *Site) LooksOn(d civil.Date, programme bool) bool {
	if w := d.Weekday(); w != time.Saturday && w != time.Sunday {
		return true
	}
	switch s.Weekends {
	case WeekendsLookedAt:
		return true
	case WeekendsLeftAlone:
		return false
	}
	return programme
}

// DutyWeek is who looks after the tanks of a site on each weekday, Sunday first
// as in time.Weekday. An empty text means that nobody was named.
type DutyWeek struct {
	ID     ID // empty until the list is first stored
	SiteID ID
	Who    [7]string
	Entry
}

// Empty reports whether no day has anybody.
func (w *DutyWeek) Empty() bool { return w.Who == [7]string{} }

// DutyField names the form field of a weekday.
func DutyField(d time.Weekday) string { return "who_" + string(rune('0'+int(d))) }

// Validate returns what is wrong with the list, by DutyField.
func (w *DutyWeek) Validate() []Problem {
	var out []Problem
	for d, who := range w.Who {
		if utf8.RuneCountInString(who) > MaxDutyWho {
			out = append(out, Problem{Field: DutyField(time.Weekday(d)), Key: "entry.too_long",
				Args: Args{"Max": MaxDutyWho}})
		}
	}
	return out
}

// Cover is who looks on the days of a holiday or a weekend.
type Cover struct {
	ID       ID
	SiteID   ID
	From, To civil.Date // To is the last day, included
	Who      string
	Note     string
	Entry
}

// Validate returns what is wrong with a cover.
func (c *Cover) Validate() []Problem {
	var out []Problem
	fail := func(field, key string, args Args) { out = append(out, Problem{Field: field, Key: key, Args: args}) }
	if c.From.IsZero() {
		fail("from", "date.empty", nil)
	}
	switch {
	case c.To.IsZero():
		fail("to", "date.empty", nil)
	case !c.From.IsZero() && c.To.Before(c.From):
		fail("to", "date.range", nil)
	}
	out = append(out, wrongYear("from", c.From)...)
	out = append(out, wrongYear("to", c.To)...)
	switch {
	case c.Who == "":
		fail("who", "duty.who_empty", nil)
	case utf8.RuneCountInString(c.Who) > MaxDutyWho:
		fail("who", "entry.too_long", Args{"Max": MaxDutyWho})
	}
	if utf8.RuneCountInString(c.Note) > maxCoverNote {
		fail("note", "entry.too_long", Args{"Max": maxCoverNote})
	}
	return out
}

// Holds reports whether the cover is for day d.
func (c *Cover) Holds(d civil.Date) bool { return !d.Before(c.From) && !d.After(c.To) }

// DutyList is the week and the covers of a site, by date.
type DutyList struct {
	Week   DutyWeek
	Covers []Cover
}

// DutyTurn is whose turn a day is. Who is empty when nobody was named.
type DutyTurn struct {
	Who   string
	Cover *Cover // set when a cover takes the place of the week's list
}

// On returns whose turn day d is: the cover of the day that was entered last,
// else the group of the weekday.
func (l *DutyList) On(d civil.Date) DutyTurn {
	var t DutyTurn
	for i := range l.Covers {
		if c := &l.Covers[i]; c.Holds(d) && (t.Cover == nil || !c.ReceivedAt.Before(t.Cover.ReceivedAt)) {
			t = DutyTurn{Who: c.Who, Cover: c}
		}
	}
	if t.Cover == nil {
		t.Who = l.Week.Who[d.Weekday()]
	}
	return t
}

// Coming returns the covers that are not over on day d.
func (l *DutyList) Coming(d civil.Date) []Cover {
	var out []Cover
	for _, c := range l.Covers {
		if !c.To.Before(d) {
			out = append(out, c)
		}
	}
	return out
}
