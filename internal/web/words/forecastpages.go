package words

import (
	"reddside/internal/assess"
	"reddside/internal/i18n"
	"reddside/internal/web/ui"
)

func RulerOf(p *i18n.Printer, a assess.Result) ui.Ruler {
	s := a.Season
	return ui.NewRuler(p, assess.PlaceRuler(assess.RulerSeason{FertilisedOn: s.Lot.FertilisedOn, ReleaseFrom: s.ReleaseFrom,
		ReleaseBy: s.ReleaseBy}, &a.Forecast))
}
