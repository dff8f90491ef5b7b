package web

import (
	"context"
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/chart"
	"reddside/internal/web/view"
)

// tankRoutes are the pages of one tank and season.
func (s *Server) tankRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}", s.page(s.tankShow))
	r.Get("/seasons/{seasonID}/chart.json", s.page(s.tankCharts))
	r.Get("/seasons/{seasonID}/log.csv", s.page(s.tankCSV))
	r.Get("/tanks/{tankID}", s.page(s.tankFind))
}

// tankShow is the page of one season of a tank.
func (s *Server) tankShow(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	a, err := s.assess(r.Context(), season, v.now)
	if err != nil {
		return err
	}
	stored, err := s.db.Flags(r.Context(), season.ID, true)
	if err != nil {
		return err
	}
	found, err := s.db.Findings(r.Context(), season.ID)
	if err != nil {
		return err
	}
	lives := livesOf(stored)
	lives.found = newestFindings(found)
	lives.awaken(&a.Assessment)
	figures, err := s.figures(r.Context(), v, a)
	if err != nil {
		return err
	}
	page := s.newPage(r, "tank.title", "board")
	page.P = s.reading(v, season.Site)
	page.Title = season.Tank.Name + ", " + season.Site.Name
	page.Styles = []string{"pieces.css", "tank.css", "flags.css", "keeper.css"}
	page.Scripts = []string{"vendor/echarts/echarts.common.min.js", "charts.js"}
	t := tankPage(page, a)
	fillFlags(lives, &t, &a.Assessment, season.Site)
	t.Figures = figureViews(figures)
	if t.Staff {
		notes, err := s.db.Notes(r.Context(), season.ID)
		if err != nil {
			return err
		}
		t.Notes = noteThread(v, page.P, season, notes)
	}
	if t.Release, err = s.releaseNoticeOf(r.Context(), v, a); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, view.Tank(t))
}

// figures are the charts of a season.
func (s *Server) figures(ctx context.Context, v *visit, a assessed) ([]chart.Figure, error) {
	profile, err := s.profile(ctx)
	if err != nil {
		return nil, err
	}
	return chart.Figures(chart.Input{Season: a.Season, Today: a.Today, Forecast: &a.Forecast,
		Bands: safeBands(a, profile), P: s.reading(v, a.Season.Site)})
}

// tankCharts gives the chart options as JSON: one by its name, or all.
func (s *Server) tankCharts(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	a, err := s.assess(r.Context(), season, v.now)
	if err != nil {
		return err
	}
	figures, err := s.figures(r.Context(), v, a)
	if err != nil {
		return err
	}
	all := map[string]any{}
	for _, f := range figures {
		for _, c := range f.Charts {
			all[c.ID] = c.Option
		}
	}
	var out any = all
	if name := r.URL.Query().Get("name"); name != "" {
		one, ok := all[name]
		if !ok {
			return logbook.Missing("chart")
		}
		out = one
	}
	return writePlainJSON(w, out)
}

// tankFind leads from the short address of a tank, which stands on its label, to
// its open season.
func (s *Server) tankFind(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	tank, err := s.db.Tank(r.Context(), logbook.ID(chi.URLParam(r, "tankID")))
	if err != nil {
		return err
	}
	if !v.actor.MaySee(tank.SiteID) {
		return logbook.Missing("tank")
	}
	heads, err := s.db.SeasonHeads(r.Context(), store.SeasonFilter{TankID: tank.ID})
	if err != nil {
		return err
	}
	page := view.NoSeasonPage{Page: s.newPage(r, "tank.title", "board"), Tank: tank.Name, TankID: tank.ID, Staff: v.actor.Role != logbook.Class}
	for _, h := range heads {
		if !h.Closed {
			http.Redirect(w, r, "/seasons/"+string(h.ID), http.StatusSeeOther)
			return nil
		}
		page.Past = append(page.Past, view.PastSeason{ID: string(h.ID), Label: h.Label})
	}
	site, err := s.db.Site(r.Context(), tank.SiteID)
	if err != nil {
		return err
	}
	page.Site, page.Title = site.Name, tank.Name+", "+site.Name
	page.Styles = []string{"pieces.css", "tank.css"}
	return s.render(w, r, http.StatusOK, view.NoSeason(page))
}

// safeBands are the temperatures between which nothing is raised, by the stage
// that the forecast expects on each day. Without a forecast the stage believed
// in today stands for all days; without a stage there is no band.
func safeBands(a assessed, profile *rules.Profile) []chart.Band {
	s := a.Season
	from := s.StartedOn()
	if from.IsZero() {
		return nil
	}
	const endless = 1000 // days; the chart cuts it
	type span struct {
		from  civil.Date
		stage logbook.Stage
	}
	var spans []span
	if f := &a.Forecast; f.Ok() {
		from = civil.Min(from, f.StartOn)
		spans = append(spans, span{from, f.StageOn(from)})
		stages := []logbook.Stage{logbook.EyedEgg, logbook.Alevin, logbook.Fry}
		for i, w := range []civil.Date{f.Eyed.P50, f.Hatch.P50, f.SwimUp.P50} {
			if !w.IsZero() && w.After(spans[len(spans)-1].from) {
				spans = append(spans, span{w, stages[i]})
			}
		}
	} else if a.Assessment.Stage.Stage != "" {
		spans = append(spans, span{from, a.Assessment.Stage.Stage})
	}
	var out []chart.Band
	for i, sp := range spans {
		low, okLow := profile.Value(rules.TempWatchLow, s.Lot.Species, sp.stage)
		high, okHigh := profile.Value(rules.TempWatchHigh, s.Lot.Species, sp.stage)
		if !okLow || !okHigh {
			continue
		}
		to := sp.from.AddDays(endless)
		if i+1 < len(spans) {
			to = spans[i+1].from.AddDays(-1)
		}
		b := chart.Band{From: sp.from, To: to, Low: celsius(low), High: celsius(high)}
		if n := len(out); n > 0 && out[n-1].Low == b.Low && out[n-1].High == b.High {
			out[n-1].To = to
			continue
		}
		out = append(out, b)
	}
	return out
}
