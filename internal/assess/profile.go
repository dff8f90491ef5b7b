package assess

import (
	"context"
	"slices"

	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
)

// Profile returns the thresholds in use: the stock ones with the programme's
// own changes. A stored change that this version does not know, or that no
// longer fits the others, is left out and logged: it must not take every page
// down, the one that mends it included.
func (s *Service) Profile(ctx context.Context) (*rules.Profile, error) {
	own, revision, err := s.db.Thresholds(ctx)
	if err != nil {
		return nil, err
	}
	// A profile never changes once made, and every change of a limit has a new
	// revision.
	if p := s.limits.Load(); p != nil && p.Revision == revision {
		return p, nil
	}
	p, err := s.profileOf(own, revision)
	if err == nil {
		s.limits.Store(p)
	}
	return p, err
}

func (s *Service) profileOf(own []store.Threshold, revision int64) (*rules.Profile, error) {
	if len(own) == 0 && revision == 0 {
		return rules.StockProfile(), nil
	}
	changes := s.overridesOf(own)
	p, err := rules.NewProfile(revision, changes)
	if err != nil {
		p, err = s.fittingProfile(revision, changes)
	}
	if err == nil {
		for _, t := range own {
			if t.ChangedAt.After(p.ChangedAt) {
				p.ChangedAt = t.ChangedAt
			}
		}
	}
	return p, err
}

// overridesOf reads stored limits; those set back to the stock value and those
// that this version does not know are left out.
func (s *Service) overridesOf(own []store.Threshold) []rules.Override {
	var changes []rules.Override
	for _, t := range own {
		v, set := t.Value.Get()
		limit, known := rules.LimitNamed(t.Key)
		if !known {
			s.log.Error("unknown threshold left out", "key", t.Key)
			continue
		}
		if set {
			changes = append(changes, rules.Override{Limit: limit, Species: t.Species, Stage: t.Stage, Value: v,
				Reason: t.Reason, Source: t.Source, ByLabel: t.ByLabel})
		}
	}
	return changes
}

// OwnThresholds reads the stored limits, and makes the check for storing
// changes of them: the limits must fit each other as they would then stand. A
// limit that did not fit before and was not touched since does not count, as it
// is not in use either.
func (s *Service) OwnThresholds(ctx context.Context) (own []store.Threshold, check func([]store.Threshold) error,
	err error) {
	own, revision, err := s.db.Thresholds(ctx)
	if err != nil {
		return nil, nil, err
	}
	profile, err := s.profileOf(own, revision)
	if err != nil {
		return nil, nil, err
	}
	type place struct {
		limit   string
		species logbook.Species
		stage   logbook.Stage
	}
	used := map[place]bool{}
	for _, o := range profile.Overrides() {
		used[place{o.Limit.String(), o.Species, o.Stage}] = true
	}
	unused := map[logbook.ID]int64{}
	for _, t := range own {
		if !used[place{t.Key, t.Species, t.Stage}] {
			unused[t.ID] = t.Revision
		}
	}
	return own, func(all []store.Threshold) error {
		all = slices.DeleteFunc(all, func(t store.Threshold) bool { return t.Revision == unused[t.ID] })
		_, err := rules.NewProfile(revision, s.overridesOf(all))
		return err
	}, nil
}

// fittingProfile takes the changes one by one and leaves out those that do not
// fit.
func (s *Service) fittingProfile(revision int64, changes []rules.Override) (*rules.Profile, error) {
	p, err := rules.NewProfile(revision, nil)
	if err != nil {
		return nil, err
	}
	var fitting []rules.Override
	for _, c := range changes {
		next, err := rules.NewProfile(revision, append(fitting, c))
		if err != nil {
			s.log.Error("threshold left out", "limit", c.Limit.String(), "err", err)
			continue
		}
		p, fitting = next, append(fitting, c)
	}
	return p, nil
}
