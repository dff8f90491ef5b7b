package assess

import (
	"context"
	"time"

	"reddside/internal/civil"
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
		out = append(out, store.FlagChange{Op: store.Raise, Rule: f.Rule, Subject: f.Subject, Kind: string(f.Kind),
			On: a.On, Args: flagArgs(f)})
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

// FlagLives is the stored life of the flags of a season.
type FlagLives struct {
	open  map[FlagPlace]*store.Flag
	Ended []*store.Flag // over, but somebody still has to say something about them
	Found Findings
}

func LivesOf(flags []store.Flag) FlagLives {
	l := FlagLives{open: make(map[FlagPlace]*store.Flag, len(flags))}
	for i := range flags {
		f := &flags[i]
		if f.Open() {
			l.open[FlagPlace{Rule: f.Rule, Subject: f.Subject}] = f
		} else if Waits(f) {
			l.Ended = append(l.Ended, f)
		}
	}
	return l
}

// Waits reports whether a flag that is over still waits for a person: an act flag
// until somebody says what it was. Watches end by themselves, and so does a missing
// check, which the late check explains. Of ends from before reasons were kept only
// the unseen ones wait.
func Waits(f *store.Flag) bool {
	switch {
	case f.Open() || f.Kind != string(rules.Act) || f.Rule == rules.CheckMissing || f.EndWhy == string(rules.EndSeason):
		return false
	case f.EndWhy == "":
		return f.SeenAt.IsZero()
	}
	return !f.Named
}

// Of returns the life of a flag, nil before it is stored.
func (l FlagLives) Of(f *rules.Flag) *store.Flag {
	return l.open[FlagPlace{Rule: f.Rule, Subject: f.Subject}]
}

// Aside reports whether a flag is set aside on a day. One that became more
// urgent is not, even before that is stored.
func (l FlagLives) Aside(f *rules.Flag, on civil.Date) bool {
	k := l.Of(f)
	return k != nil && k.ShelvedOn(on) && f.Kind.Order() >= rules.Kind(k.ShelvedKind).Order()
}

// ToSee reports whether somebody still has to look at a flag.
func (l FlagLives) ToSee(f *rules.Flag) bool {
	if f.Kind != rules.Act && f.Kind != rules.Watch {
		return false
	}
	k := l.Of(f)
	return k == nil || k.ToSee() || (k.SeenKind != "" && f.Kind.Order() < rules.Kind(k.SeenKind).Order())
}

// EndShelving gives an assessment the status of the flags that are not set aside, and
// tells how many are set aside and not seen.
//
// A tank whose only act flag is set aside does not ask for action: somebody has
// decided, said why, and for how long. It is never silent about it: the board
// and the tank's page say how many flags are set aside.
func (l FlagLives) EndShelving(a *rules.Assessment) (aside, unseen int) {
	a.Status = a.StatusWithout(func(f *rules.Flag) bool { return l.Aside(f, a.On) })
	if len(l.Ended) > 0 && a.Status != rules.StatusAct {
		a.Status = rules.StatusWatch
	}
	for i := range a.Flags {
		f := &a.Flags[i]
		switch {
		case l.Aside(f, a.On):
			aside++
		case l.ToSee(f):
			unseen++
		}
	}
	return aside, unseen
}

// Findings are what people found, the newest of each flag.
type Findings map[logbook.ID]*store.FlagFinding

func NewestFindings(all []store.FlagFinding) Findings {
	out := make(Findings, len(all))
	for i := range all {
		out[all[i].FlagID] = &all[i]
	}
	return out
}

// JudgedBy turns what people found of the flags of a season into what a replay
// can be held against: stretches in which something was wrong, and those in which
// a flag was up for nothing. last is the last day of the season so far.
func (fs Findings) JudgedBy(flags []store.Flag, last civil.Date) (incidents, quiet []rules.Incident) {
	for i := range flags {
		f := &flags[i]
		found := fs[f.ID]
		if found == nil {
			continue
		}
		span := rules.Incident{From: f.RaisedOn, To: last}
		if !f.ClearedOn.IsZero() {
			span.To = civil.Max(f.RaisedOn, f.ClearedOn.AddDays(-1))
		}
		switch found.What {
		case store.FoundReal:
			span.Family = rules.FamilyOf(f.Rule)
			incidents = append(incidents, span)
		case store.FoundNothing:
			span.Rule = f.Rule
			quiet = append(quiet, span)
		}
	}
	return incidents, quiet
}
