package assess

import (
	"context"
	"time"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
)

// Result is everything computed of one season on one day.
type Result struct {
	Season     *logbook.Season
	Today      civil.Date
	Forecast   forecast.Result
	Assessment rules.Assessment
}

// Assess computes forecast and rules of a loaded season. Observations of the
// other tanks of its lot, and of closed lots, are taken from the database as it
// is.
func (s *Service) Assess(ctx context.Context, season *logbook.Season, now time.Time) (Result, error) {
	known, err := s.Evidence(ctx, season, now)
	if err != nil {
		return Result{}, err
	}
	profile, err := s.Profile(ctx)
	if err != nil {
		return Result{}, err
	}
	return s.Compute(season, known, profile, now), nil
}

// Compute is the pure part of assess.
func (s *Service) Compute(season *logbook.Season, known Evidence, profile *rules.Profile, now time.Time) Result {
	a := Result{Season: season, Today: s.Today(season.Site, now)}
	a.Forecast = known.Forecast(season, a.Today)
	a.Assessment = rules.Assess(rules.Input{Season: season, Today: a.Today, Now: now, Forecast: &a.Forecast, Profile: profile})
	return a
}

// Forecast is the forecast of a season on a day.
func (e Evidence) Forecast(season *logbook.Season, day civil.Date) forecast.Result {
	known := day
	if !season.ClosedOn.IsZero() {
		known = civil.Min(known, season.ClosedOn)
	}
	return forecast.Compute(forecast.Input{Season: season, Today: day, Siblings: e.Siblings, PastLots: e.By(known)})
}
