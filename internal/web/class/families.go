package class

import (
	"net/http"

	"reddside/internal/assess"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// familiesShow is the sheet for the families of a class. The photograph is the
// newest one.
func (s *Service) familiesShow(w http.ResponseWriter, r *http.Request) error {
	a, err := s.classAssessed(r)
	if err != nil {
		return err
	}
	season := a.Season
	page := s.NewPage(r, "families.title", "board")
	page.P = s.InSite(req.Of(r), season.Site)
	p := page.P
	page.Title = p.T("families.title", logbook.Args{"Tank": season.Tank.Name})
	page.Styles = []string{"pieces.css", "check.css", "survival.css", "tank.css", "class.css"}
	m := Families{Page: page, Site: season.Site.Name, Tank: season.Tank.Name, TankHref: ui.SeasonPath(season.ID),
		Ruler: words.RulerOf(p, a), Day: p.Date(a.Today), Next: familiesNext(p, a)}
	started := season.StartedOn()
	if started.IsZero() || a.Today.Before(started) {
		m.Lead = p.T("families.waiting", logbook.Args{"Species": season.Lot.Species})
		return s.Render(w, r, http.StatusOK, FamiliesPage(m))
	}
	m.Lead = p.T("families.lead", logbook.Args{"Count": a.Assessment.Totals.Delivered, "Species": season.Lot.Species,
		"On": p.DayMonth(started)})
	m.Stage, _, m.StageText = classStageOf(p, a)
	if v, ok := report.SurvivalOf(season, a.Today); ok {
		h := words.HundredOf(p, v)
		m.Hundred = &h
	}
	photos, err := s.DB.Photos(r.Context(), season.ID)
	if err != nil {
		return err
	}
	if n := len(photos); n > 0 {
		m.Photo = &words.PhotoViews(p, photos[n-1:])[0]
	}
	return s.Render(w, r, http.StatusOK, FamiliesPage(m))
}

// familiesNext says in sentences what comes, as far as nobody has seen it.
func familiesNext(p *i18n.Printer, a assess.Result) []string {
	var out []string
	f := &a.Forecast
	if f.Ok() {
		for _, e := range forecast.Events() {
			if w := f.Window(e); w.Ok() && w.Observed.IsZero() && !w.P90.Before(a.Today) {
				out = append(out, p.T("families.next."+string(e),
					logbook.Args{"When": ui.DateSpan(p, w.P10, w.P90)}))
			}
		}
	}
	if s := a.Season; !s.ReleaseFrom.IsZero() && !s.ReleaseBy.Before(a.Today) && a.Assessment.Totals.Alive > 0 {
		out = append(out, p.T("families.next.release", logbook.Args{"When": ui.DateSpan(p, s.ReleaseFrom, s.ReleaseBy)}))
	}
	return out
}
