package req

import (
	"context"

	"reddside/internal/assess"
	"reddside/internal/logbook"
)

// PlanWork loads what a plan of a season starts from. none is the key of why
// nothing can be planned.
func (s *Kernel) PlanWork(ctx context.Context, season *logbook.Season, v *Info) (k *assess.PlanWork, none logbook.Problem, err error) {
	k = &assess.PlanWork{}
	if k.Result, err = s.Assess.Assess(ctx, season, v.Now); err != nil {
		return nil, none, err
	}
	if k.Profile, err = s.Assess.Profile(ctx); err != nil {
		return nil, none, err
	}
	f := &k.Forecast
	switch {
	case !season.ClosedOn.IsZero() && !k.Today.Before(season.ClosedOn):
		none.Key, none.Args = "tank.ended", logbook.Args{"On": season.ClosedOn}
	case !f.Ok():
		none.Key, none.Args = f.Reason, f.Args
	case f.SwimUp.BeforeStart || !f.SwimUp.Observed.IsZero():
		none.Key = "forecast.plan.already"
	}
	k.Eggs, k.Alevin = k.Safe(logbook.EyedEgg), k.Safe(logbook.Alevin)
	if f.SwimUp.Ok() && !f.SwimUp.Last.IsZero() {
		k.Margin = max(0, f.SwimUp.Last.Sub(f.SwimUp.P50))
	}
	return k, none, nil
}
