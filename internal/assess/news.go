package assess

import (
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
)

// boardLife is what the board tells of the life of a tank's flags.
type boardLife struct {
	Aside, Unseen, Ended int
	ids                  map[FlagPlace]logbook.ID
	Rest                 map[FlagPlace]bool // set aside
	// Newest flag and newest entry, to tell what is new to a reader.
	FlagAt, EntryAt time.Time
}

func boardLifeOf(a *rules.Assessment, today civil.Date, entryAt time.Time, lives FlagLives) boardLife {
	l := boardLife{Ended: len(lives.Ended), EntryAt: entryAt}
	l.Aside, l.Unseen = lives.EndShelving(a)
	for i := range a.Flags {
		f := &a.Flags[i]
		k := lives.Of(f)
		if k == nil {
			continue
		}
		p := FlagPlace{Rule: f.Rule, Subject: f.Subject}
		if l.ids == nil {
			l.ids, l.Rest = map[FlagPlace]logbook.ID{}, map[FlagPlace]bool{}
		}
		l.ids[p] = k.ID
		l.Rest[p] = lives.Aside(f, today)
		if f.Kind != rules.Note && k.RaisedAt.After(l.FlagAt) {
			l.FlagAt = k.RaisedAt
		}
	}
	for _, k := range lives.Ended {
		if k.ClearedAt.After(l.FlagAt) {
			l.FlagAt = k.ClearedAt
		}
	}
	return l
}

// newestEntry is when something was last entered or corrected.
func newestEntry(s *logbook.Season) (at time.Time) {
	entry := func(e logbook.Entry) {
		if e.ReceivedAt.After(at) {
			at = e.ReceivedAt
		}
		if e.ChangedAt.After(at) {
			at = e.ChangedAt
		}
	}
	for i := range s.Checks {
		entry(s.Checks[i].Entry)
	}
	for i := range s.Events {
		entry(s.Events[i].Entry)
	}
	for i := range s.Deliveries {
		entry(s.Deliveries[i].Entry)
	}
	return at
}

// Anchor is the place of a flag on the page of its tank.
func (l *boardLife) Anchor(f *rules.Flag) string {
	if id := l.ids[FlagPlace{Rule: f.Rule, Subject: f.Subject}]; id != "" {
		return "#flag-" + string(id)
	}
	return "#flags"
}

// NewsSince is the message key of what is new since a time, "" for nothing and
// for a reader who was never here.
func (l *boardLife) NewsSince(since time.Time) string {
	switch {
	case since.IsZero():
		return ""
	case l.FlagAt.After(since):
		return "board.new_flag"
	case l.EntryAt.After(since):
		return "board.new_entry"
	}
	return ""
}
