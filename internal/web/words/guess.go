package words

import (
	"reddside/internal/assess"
)

func GuessClosed(a assess.Result) string {
	h := &a.Forecast.Hatch
	switch {
	case a.Season.StartedOn().IsZero():
		return "guess.no_eggs"
	case !a.Season.ClosedOn.IsZero() && !a.Today.Before(a.Season.ClosedOn):
		return "guess.season_over"
	case a.Forecast.Ok() && (!h.Observed.IsZero() || h.BeforeStart):
		return "guess.hatched"
	}
	return ""
}
