package assess

import (
	"context"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
)

// FlagsAfter returns what a write to a season hands to the store: the rules look
// at the season as it is after the write, inside its transaction, and the
// flags follow. Every write of checks, events, deliveries and readings uses it.
//
// What other tanks of the lot have shown is read before the transaction.
func (s *Service) FlagsAfter(ctx context.Context, season *logbook.Season, now time.Time) (store.After, error) {
	known, err := s.Evidence(ctx, season, now)
	if err != nil {
		return nil, err
	}
	profile, err := s.Profile(ctx)
	if err != nil {
		return nil, err
	}
	return func(after *logbook.Season, open []store.Flag) ([]store.FlagChange, error) {
		a := s.Compute(after, known, profile, now)
		s.board.judge(a, known, profile)
		return FlagChanges(a.Assessment, open, after, profile.ChangedAt), nil
	}, nil
}

// SyncFlags brings the stored flags of a season in step with its assessment
// when nothing was written, as on a new day.
func (s *Service) SyncFlags(ctx context.Context, actor logbook.Actor, id logbook.ID, now time.Time) error {
	season, err := s.db.LoadSeason(ctx, id)
	if err != nil {
		return err
	}
	after, err := s.FlagsAfter(ctx, season, now)
	if err != nil {
		return err
	}
	_, err = s.db.UpdateFlags(ctx, actor, id, now, after)
	return err
}

// FlagPlace tells flags of a season apart.
type FlagPlace struct{ Rule, Subject string }

// FlagChanges compares what the rules say with the flags that are open. A flag
// whose kind changed is raised again: the store keeps it as the same flag. Its
// arguments are those of the day it was raised with that kind, so that a
// headline that counts days is no change every day. An end has its reason, by what
// was entered since and by when a limit was last changed; without the season it has
// none.
func FlagChanges(a rules.Assessment, open []store.Flag, s *logbook.Season, limits time.Time) []store.FlagChange {
	have := make(map[FlagPlace]*store.Flag, len(open))
	for i := range open {
		have[FlagPlace{Rule: open[i].Rule, Subject: open[i].Subject}] = &open[i]
	}
	var out []store.FlagChange
	said := make(map[FlagPlace]bool, len(a.Flags))
	for i := range a.Flags {
		f := &a.Flags[i]
		p := FlagPlace{Rule: f.Rule, Subject: f.Subject}
		if said[p] {
			continue
		}
		said[p] = true
		if o := have[p]; o != nil && o.Kind == string(f.Kind) {
			continue
		}
		out = append(out, store.FlagChange{Op: store.Raise, Rule: f.Rule, Subject: f.Subject, Kind: string(f.Kind), On: a.On, Args: flagArgs(f)})
	}
	for i := range open {
		o := &open[i]
		if !said[FlagPlace{Rule: o.Rule, Subject: o.Subject}] {
			end := store.FlagChange{Op: store.Clear, Rule: o.Rule, Subject: o.Subject, Kind: o.Kind, On: a.On}
			if s != nil {
				why, by := rules.EndOf(o.Rule, o.RaisedAt, s, &a, limits)
				end.Why, end.In = string(why), by
			}
			out = append(out, end)
		}
	}
	return out
}

// Spoken is what the rules say today, by season and place.
type Spoken map[logbook.ID]map[FlagPlace]*rules.Flag

// Add takes up the flags of an assessment.
func (s Spoken) Add(a *rules.Assessment) {
	said := make(map[FlagPlace]*rules.Flag, len(a.Flags))
	for i := range a.Flags {
		f := &a.Flags[i]
		said[FlagPlace{Rule: f.Rule, Subject: f.Subject}] = f
	}
	s[a.SeasonID] = said
}

// Of returns what is said today of an open flag, nil when the rules are silent.
func (s Spoken) Of(f *store.Flag) *rules.Flag {
	if !f.Open() {
		return nil
	}
	return s[f.SeasonID][FlagPlace{Rule: f.Rule, Subject: f.Subject}]
}

// Spoken returns what the rules say today of the open seasons that the actor may see.
func (s *Service) Spoken(ctx context.Context, actor logbook.Actor, now time.Time) (Spoken, error) {
	all, err := s.BoardEntries(ctx, actor, now)
	out := make(Spoken, len(all))
	for _, e := range all {
		out.Add(&e.Assessment)
	}
	return out, err
}
