package web

import (
	"context"

	"reddside/internal/rules"
)

// profile returns the thresholds in use: the stock ones with the programme's
// own changes. A stored change that this version does not know, or that no
// longer fits the others, is left out and logged: it must not take every page
// down, the one that mends it included.
func (s *Server) profile(ctx context.Context) (*rules.Profile, error) {
	own, revision, err := s.db.Thresholds(ctx)
	if err != nil {
		return nil, err
	}
	if len(own) == 0 && revision == 0 {
		return rules.StockProfile(), nil
	}
	var changes []rules.Override
	for _, t := range own {
		v, set := t.Value.Get()
		limit, known := rules.LimitNamed(t.Key)
		if !known {
			s.log.Error("unknown threshold left out", "key", t.Key)
			continue
		}
		if set {
			changes = append(changes, rules.Override{Limit: limit, Species: t.Species, Stage: t.Stage, Value: v, Reason: t.Reason, ByLabel: t.ByLabel})
		}
	}
	if p, err := rules.NewProfile(revision, changes); err == nil {
		return p, nil
	}
	return s.fittingProfile(revision, changes)
}

// fittingProfile takes the changes one by one and leaves out those that do not
// fit.
func (s *Server) fittingProfile(revision int64, changes []rules.Override) (*rules.Profile, error) {
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
