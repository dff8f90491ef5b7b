package entries

import (
	"context"
	"slices"
	"strings"

	"reddside/internal/care"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
)

// Leaving is a release of a season with what it is held against. but is the event
// that is being corrected, or empty.
func (s *Service) Leaving(ctx context.Context, season *logbook.Season, e *logbook.Event, r *logbook.ReleaseRecord,
	but logbook.ID) (l care.Leaving, err error) {
	l = care.Leaving{Season: season, Event: e, Record: r}
	permits, err := s.db.Permits(ctx)
	if err != nil {
		return l, err
	}
	if l.Places, err = s.db.ReleasePlaces(ctx); err != nil {
		return l, err
	}
	if l.Permit = logbook.PermitOf(permits, season, e.Permit); l.Permit != nil {
		if l.Before, err = s.db.ReleasedUnder(ctx, l.Permit, but); err != nil {
			return l, err
		}
	}
	flags, err := s.db.Flags(ctx, season.ID, false)
	for i := range flags {
		f := &flags[i]
		if f.Kind == string(rules.Act) && !f.RaisedOn.After(e.On) {
			l.Acts = append(l.Acts, f.Rule)
		}
	}
	return l, err
}

// judgeRelease notes in an event what its release departs from, and demands a reason.
// In a correction the flags are those of the day on which it was stored.
func (s *Service) judgeRelease(ctx context.Context, in *Sent, e, have *logbook.Event) ([]logbook.Problem, error) {
	e.Deviations = ""
	if e.Kind != logbook.Released {
		return nil, nil
	}
	var but logbook.ID
	if have != nil {
		but = have.ID
	}
	l, err := s.Leaving(ctx, in.Season, e, in.Season.ReleaseRecordOf(but), but)
	if have != nil {
		l.Acts = nil
	}
	list := l.OfEvent()
	e.Deviations = care.Codes(list)
	if have != nil && slices.Contains(strings.Fields(have.Deviations), "flag") {
		e.Deviations = strings.TrimSpace(e.Deviations + " flag")
	}
	if err != nil || strings.TrimSpace(e.DeviationWhy) != "" {
		return nil, err
	}
	return list, nil
}

// judgeRecord does the same for the record of a release. What its event departs from
// has its reason there.
func (s *Service) judgeRecord(ctx context.Context, in *Sent, r *logbook.ReleaseRecord) ([]logbook.Problem, error) {
	r.Deviations = ""
	at := slices.IndexFunc(in.Season.Events, func(e logbook.Event) bool { return e.ID == r.EventID })
	if at < 0 {
		return nil, nil
	}
	e := &in.Season.Events[at]
	l, err := s.Leaving(ctx, in.Season, e, r, e.ID)
	told := strings.Fields(e.Deviations)
	list := slices.DeleteFunc(l.OfRecord(), func(p logbook.Problem) bool {
		return slices.Contains(told, care.Codes([]logbook.Problem{p}))
	})
	r.Deviations = care.Codes(list)
	if err != nil || strings.TrimSpace(r.DeviationWhy) != "" {
		return nil, err
	}
	return list, nil
}

// FinishRelease stores a guided release: its event and a count of what stayed, its
// record, and perhaps the end of the season. check judges the rest in the season as
// it is stored at that moment.
func (s *Service) FinishRelease(ctx context.Context, in Sent, draft int64, events []logbook.Event,
	record *logbook.ReleaseRecord, closeOn civil.Date, check func(*logbook.Season) []logbook.Problem) error {
	after, err := s.Assess.FlagsAfter(ctx, in.Season, in.Now)
	if err != nil {
		return err
	}
	l, err := s.Leaving(ctx, in.Season, &events[0], record, "")
	if err != nil {
		return err
	}
	return s.db.FinishRelease(ctx, in.Actor, in.Season.ID, draft, events, record, closeOn, in.Now,
		func(stored *logbook.Season) error {
			l.Season = stored
			list := l.Of()
			events[0].Deviations = care.Codes(list)
			problems := check(stored)
			if strings.TrimSpace(events[0].DeviationWhy) == "" {
				problems = append(problems, list...)
			}
			return logbook.Refuse(problems)
		}, after)
}
