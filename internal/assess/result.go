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
	a.Assessment = rules.Assess(rules.Input{Season: season, Today: a.Today, Now: now, Forecast: &a.Forecast,
		Profile: profile})
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

// judged is what a write has worked out of its season: once it is committed, the
// board and the other tanks of the lot need not work it out again.
type judged struct {
	season *logbook.Season // as the write saw it, the same one that the store tells of
	draft  *BoardEntry
	shown  shownBy
}

// judge keeps a result until its write is committed. One that is undone is never
// told of, and goes when the season is written to again.
func (b *boardCache) judge(a Result, known Evidence, profile *rules.Profile) {
	s := a.Season
	setup := s.Site.Revision + s.Tank.Revision
	key := boardKey{season: s.Revision, profile: profile.Revision, setup: setup, lot: known.mark, past: known.pastMark,
		today: a.Today}
	j := judged{season: s, shown: newShown(shownKey{season: s.Revision, setup: setup, lot: s.Lot.Edits, day: a.Today},
		a.Forecast.Observations)}
	if s.ClosedOn.IsZero() {
		j.draft = newDraft(a, key)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	b.judging[s.ID] = j
}

// committed takes over what was judged of a season.
func (s *Service) committed(season *logbook.Season) {
	b := s.board
	b.mu.Lock()
	j, ok := b.judging[season.ID]
	ok = ok && j.season == season
	if ok {
		delete(b.judging, season.ID)
		if j.draft != nil {
			b.drafts[season.ID] = j.draft
		}
	}
	b.mu.Unlock()
	if ok {
		s.shown.put(season.ID, j.shown)
	}
}
