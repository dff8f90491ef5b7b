package web

import (
	"context"
	"time"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
)

// assessed is everything computed of one season on one day.
type assessed struct {
	Season     *logbook.Season
	Today      civil.Date
	Forecast   forecast.Result
	Assessment rules.Assessment
}

// assess computes forecast and rules of a loaded season. Observations of the
// other tanks of its lot, and of closed lots, are taken from the database as it
// is.
func (s *Server) assess(ctx context.Context, season *logbook.Season, now time.Time) (assessed, error) {
	known, err := s.evidence(ctx, season, now)
	if err != nil {
		return assessed{}, err
	}
	profile, err := s.profile(ctx)
	if err != nil {
		return assessed{}, err
	}
	return s.compute(season, known, profile, now), nil
}

// compute is the pure part of assess.
func (s *Server) compute(season *logbook.Season, known evidence, profile *rules.Profile, now time.Time) assessed {
	a := assessed{Season: season, Today: s.today(season.Site, now)}
	a.Forecast = known.forecast(season, a.Today)
	a.Assessment = rules.Assess(rules.Input{Season: season, Today: a.Today, Now: now, Forecast: &a.Forecast, Profile: profile})
	return a
}

// forecast is the forecast of a season on a day.
func (e evidence) forecast(season *logbook.Season, day civil.Date) forecast.Result {
	known := day
	if !season.ClosedOn.IsZero() {
		known = civil.Min(known, season.ClosedOn)
	}
	return forecast.Compute(forecast.Input{Season: season, Today: day, Siblings: e.siblings, PastLots: e.by(known)})
}
