package web

import (
	"context"
	"time"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
)

// assessed is everything computed of one season on one day.
type assessed struct {
	Season     *logbook.Season
	Today      civil.Date
	Forecast   forecast.Result
	Assessment rules.Assessment
}

// assess computes forecast and rules of a loaded season. Observations of the
// other tanks of its lot are taken from the database as it is.
func (s *Server) assess(ctx context.Context, season *logbook.Season, now time.Time) (assessed, error) {
	siblings, err := s.siblings(ctx, season, now)
	if err != nil {
		return assessed{}, err
	}
	profile, err := s.profile(ctx)
	if err != nil {
		return assessed{}, err
	}
	return s.compute(season, siblings, profile, now), nil
}

// compute is the pure part of assess.
func (s *Server) compute(season *logbook.Season, siblings []forecast.Observation, profile *rules.Profile, now time.Time) assessed {
	a := assessed{Season: season, Today: s.today(season.Site, now)}
	a.Forecast = forecast.Compute(forecast.Input{Season: season, Today: a.Today, Siblings: siblings})
	a.Assessment = rules.Assess(rules.Input{Season: season, Today: a.Today, Now: now, Forecast: &a.Forecast, Profile: profile})
	return a
}

// siblings returns what the other tanks of the lot have shown.
func (s *Server) siblings(ctx context.Context, season *logbook.Season, now time.Time) ([]forecast.Observation, error) {
	heads, err := s.db.SeasonHeads(ctx, store.SeasonFilter{LotID: season.Lot.ID})
	if err != nil {
		return nil, err
	}
	var ids []logbook.ID
	for _, h := range heads {
		if h.ID != season.ID {
			ids = append(ids, h.ID)
		}
	}
	var out []forecast.Observation
	err = s.db.LoadSeasons(ctx, ids, func(other *logbook.Season) error {
		r := forecast.Compute(forecast.Input{Season: other, Today: s.today(other.Site, now)})
		out = append(out, r.Observations...)
		return nil
	})
	return out, err
}
