package words

import (
	"reddside/internal/assess"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/web/ui"
)

// StageWords names a stage, and says so when nobody has seen it.
func StageWords(p *i18n.Printer, b rules.Belief) string {
	switch {
	case b.Stage == "":
		return ""
	case b.From == rules.FromIndex:
		return p.T("stage.worked_out", logbook.Args{"Stage": b.Stage})
	}
	return p.T(b.Stage.MessageKey())
}

func RulerOf(p *i18n.Printer, a assess.Result) ui.Ruler {
	s := a.Season
	return ui.NewRuler(p, assess.PlaceRuler(assess.RulerSeason{FertilisedOn: s.Lot.FertilisedOn,
		ReleaseFrom: s.ReleaseFrom,
		ReleaseBy:   s.ReleaseBy}, &a.Forecast))
}

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
