package assess

import (
	"context"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
)

// boardLife is what the board tells of the life of a tank's flags.
type boardLife struct {
	Aside, Unseen, Ended int
	ids                  map[FlagPlace]logbook.ID
	Rest                 map[FlagPlace]bool // set aside
	// Newest flag and newest entry, to tell what is new to a reader.
	FlagAt, EntryAt time.Time
}

// boardLives reads the open flags and the flags that ended unseen, by season.
func (s *Service) boardLives(ctx context.Context) (map[logbook.ID][]store.Flag, error) {
	out, err := s.db.OpenFlags(ctx)
	if err != nil {
		return nil, err
	}
	ended, err := s.db.FlagsToSee(ctx)
	if err != nil {
		return nil, err
	}
	for id, list := range ended {
		out[id] = append(out[id], list...)
	}
	return out, nil
}

func boardLifeOf(a *Result, lives FlagLives) boardLife {
	l := boardLife{Ended: len(lives.Ended)}
	l.Aside, l.Unseen = lives.Awaken(&a.Assessment)
	for i := range a.Assessment.Flags {
		f := &a.Assessment.Flags[i]
		k := lives.Of(f)
		if k == nil {
			continue
		}
		p := FlagPlace{Rule: f.Rule, Subject: f.Subject}
		if l.ids == nil {
			l.ids, l.Rest = map[FlagPlace]logbook.ID{}, map[FlagPlace]bool{}
		}
		l.ids[p] = k.ID
		l.Rest[p] = lives.Aside(f, a.Today)
		if f.Kind != rules.Note && k.RaisedAt.After(l.FlagAt) {
			l.FlagAt = k.RaisedAt
		}
	}
	for _, k := range lives.Ended {
		if k.ClearedAt.After(l.FlagAt) {
			l.FlagAt = k.ClearedAt
		}
	}
	entry := func(e logbook.Entry) {
		if e.ReceivedAt.After(l.EntryAt) {
			l.EntryAt = e.ReceivedAt
		}
		if e.ChangedAt.After(l.EntryAt) {
			l.EntryAt = e.ChangedAt
		}
	}
	s := a.Season
	for i := range s.Checks {
		entry(s.Checks[i].Entry)
	}
	for i := range s.Events {
		entry(s.Events[i].Entry)
	}
	for i := range s.Deliveries {
		entry(s.Deliveries[i].Entry)
	}
	return l
}

// anchor is the place of a flag on the page of its tank.
func (l *boardLife) Anchor(f *rules.Flag) string {
	if id := l.ids[FlagPlace{Rule: f.Rule, Subject: f.Subject}]; id != "" {
		return "#flag-" + string(id)
	}
	return "#flags"
}

// newsSince is the message key of what is new since a time, "" for nothing and
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
