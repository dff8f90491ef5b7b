package web

import (
	"context"
	"errors"
	"fmt"

	"reddside/internal/rules"
)

// profile returns the thresholds in use: the stock ones with the programme's
// own changes. A stored change that the program does not know any more is an
// error, so that a limit never silently falls back.
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
		if !set {
			continue
		}
		limit, known := rules.LimitNamed(t.Key)
		if !known {
			return nil, errors.New("unknown threshold " + t.Key)
		}
		changes = append(changes, rules.Override{Limit: limit, Species: t.Species, Stage: t.Stage, Value: v, Reason: t.Reason, ByLabel: t.ByLabel})
	}
	p, err := rules.NewProfile(revision, changes)
	if err != nil {
		return nil, fmt.Errorf("thresholds: %w", err)
	}
	return p, nil
}
