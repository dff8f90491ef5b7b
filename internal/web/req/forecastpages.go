package req

import (
	"net/http"

	"reddside/internal/logbook"
	"reddside/internal/web/ui"
)

// SeasonPage starts a page of a season, with links to its sisters.
func (s *Kernel) SeasonPage(r *http.Request, season *logbook.Season, titleKey, here string) (ui.Page, ui.SeasonTop) {
	v := Of(r)
	p := s.NewPage(r, titleKey, "board")
	p.P = s.Reading(v, season.Site)
	p.Title = p.T(titleKey, logbook.Args{"Tank": season.Tank.Name})
	p.Styles = []string{"pieces.css", "forecast.css"}
	href := "/seasons/" + string(season.ID)
	top := ui.SeasonTop{Site: season.Site.Name, Tank: season.Tank.Name, TankHref: href,
		Subtitle: p.T("tank.subtitle", logbook.Args{"Species": season.Lot.Species, "Lot": season.Lot.Code, "Season": season.Label})}
	for _, page := range []string{ui.PageForecast, ui.PageHow, ui.PageGuess, ui.PagePlan, ui.PageSurvival} {
		if page == here || (page == ui.PagePlan && v.Actor.Role == logbook.Class) {
			continue
		}
		top.Links = append(top.Links, ui.PageLink{Href: href + page, Text: p.T("season_link." + page[1:])})
	}
	return p, top
}
