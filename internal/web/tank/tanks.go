package tank

import (
	"context"
	"net/http"
	"slices"

	"github.com/go-chi/chi/v5"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/chart"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// tankRoutes are the pages of one tank and season.
func (s *Service) tankRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}", s.Page(s.tankShow(ui.TankNow)))
	r.Get("/seasons/{seasonID}/charts", s.Page(s.tankShow(ui.TankCharts)))
	r.Get("/seasons/{seasonID}/log", s.Page(s.tankShow(ui.TankLog)))
	r.Get("/seasons/{seasonID}/facts", s.Page(s.tankShow(ui.TankFacts)))
	r.Get("/seasons/{seasonID}/chart.json", s.Page(s.tankCharts))
	r.Get("/seasons/{seasonID}/log.csv", s.Page(s.tankCSV))
	r.Get("/tanks/{tankID}", s.Page(s.tankFind))
}

// tankShow is one part of the page of a season of a tank.
func (s *Service) tankShow(tab string) func(http.ResponseWriter, *http.Request) error {
	return func(w http.ResponseWriter, r *http.Request) error { return s.renderTank(w, r, tab) }
}

func (s *Service) renderTank(w http.ResponseWriter, r *http.Request, tab string) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	a, err := s.Assess.Assess(r.Context(), season, v.Now)
	if err != nil {
		return err
	}
	stored, err := s.DB.Flags(r.Context(), season.ID, true)
	if err != nil {
		return err
	}
	found, err := s.DB.Findings(r.Context(), season.ID)
	if err != nil {
		return err
	}
	lives := assess.LivesOf(stored)
	lives.Found = assess.NewestFindings(found)
	lives.EndShelving(&a.Assessment)
	ahead := aheadDays
	if r.URL.Query().Get("ahead") == "all" {
		ahead = 0
	}
	figures, err := s.figures(r.Context(), v, a, ahead)
	if err != nil {
		return err
	}
	page := s.NewPage(r, "tank.title", "board")
	page.Title = season.Tank.Name + ", " + season.Site.Name
	page.Styles = []string{"pieces.css", "tank.css", "flags.css", "keeper.css"}
	page.Scripts = []string{"vendor/echarts/echarts.common.min.js", "charts.js"}
	photos, err := s.DB.Photos(r.Context(), season.ID)
	if err != nil {
		return err
	}
	t := tankPage(page, a, photos)
	t.Tab, t.Whole = tab, ahead == 0
	words.FillFlags(lives, &t, &a.Assessment, season.Site)
	t.Figures = figureViews(figures)
	if t.Staff {
		notes, err := s.DB.Notes(r.Context(), season.ID)
		if err != nil {
			return err
		}
		t.Notes = noteThread(v, page.P, season, notes)
		if slices.ContainsFunc(notes, func(n logbook.Note) bool { return words.NoteWaits(&n, notes, v.Actor.Role) }) {
			t.Quiet = page.P.T("tank.quiet_note")
		}
	}
	if t.Next, err = s.nextSteps(r.Context(), v, a); err != nil {
		return err
	}
	if t.Release, err = s.ReleaseNotice(r.Context(), v, a); err != nil {
		return err
	}
	return s.Render(w, r, http.StatusOK, Tank(t))
}

// aheadDays is how far the charts of the page look ahead: months of empty future
// would take the room of what was measured.
const aheadDays = 14

// newTankChecks is how many checks a tank has while it is new.
const newTankChecks = 3

// nextSteps is what a new tank still lacks: its first check, a keeper who can sign in,
// a tablet for the class, and when its eggs were fertilised.
func (s *Service) nextSteps(ctx context.Context, v *req.Info, a assess.Result) ([]ui.Option, error) {
	if v.Actor.Role != logbook.Coordinator || !a.Assessment.Active || len(a.Season.Checks) > newTankChecks {
		return nil, nil
	}
	site := string(a.Season.Site.ID)
	var out []ui.Option
	if len(a.Season.Checks) == 0 {
		out = append(out, ui.Option{Value: ui.SeasonPath(a.Season.ID, "/checks/new"), Label: v.P.T("tank.next.check")})
	}
	accounts, err := s.DB.Accounts(ctx)
	if err != nil {
		return nil, err
	}
	if !slices.ContainsFunc(accounts, func(x store.Account) bool { return string(x.SiteID) == site && !x.Disabled }) {
		out = append(out, ui.Option{Value: "/people/new?site=" + site, Label: v.P.T("tank.next.keeper")})
	}
	devices, err := s.DB.Devices(ctx, a.Season.Site.ID)
	if err != nil {
		return nil, err
	}
	if !slices.ContainsFunc(devices, func(x store.Device) bool {
		return !x.PairedAt.IsZero() &&
			x.RevokedAt.IsZero()
	}) {
		out = append(out, ui.Option{Value: ui.SitePath(site, "/tablets"), Label: v.P.T("tank.next.tablet")})
	}
	if len(out) > 0 && a.Season.Lot.FertilisedOn.IsZero() {
		out = append(out, ui.Option{Value: ui.LotPath(a.Season.Lot.ID, "/edit"), Label: v.P.T("tank.next.fertilised")})
	}
	return out, nil
}

// figures are the charts of a season, up to so many days ahead; 0 for all.
func (s *Service) figures(ctx context.Context, v *req.Info, a assess.Result, ahead int) ([]chart.Figure, error) {
	profile, err := s.Assess.Profile(ctx)
	if err != nil {
		return nil, err
	}
	return chart.Figures(chart.Input{Season: a.Season, Today: a.Today, Forecast: &a.Forecast,
		Bands: safeBands(a, profile), Ahead: ahead, P: v.P})
}

// tankCharts gives the chart options as JSON: one by its name, or all.
func (s *Service) tankCharts(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	a, err := s.Assess.Assess(r.Context(), season, v.Now)
	if err != nil {
		return err
	}
	figures, err := s.figures(r.Context(), v, a, 0)
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
func (s *Service) tankFind(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	tank, err := s.DB.Tank(r.Context(), logbook.ID(chi.URLParam(r, "tankID")))
	if err != nil {
		return err
	}
	if !v.Actor.MaySee(tank.SiteID) {
		return logbook.Missing("tank")
	}
	heads, err := s.DB.SeasonHeads(r.Context(), store.SeasonFilter{TankID: tank.ID})
	if err != nil {
		return err
	}
	page := NoSeasonPage{Page: s.NewPage(r, "tank.title", "board"), Tank: tank.Name, TankID: tank.ID,
		Staff: v.Actor.Role != logbook.Class}
	for _, h := range heads {
		if !h.Closed {
			http.Redirect(w, r, ui.SeasonPath(h.ID), http.StatusSeeOther)
			return nil
		}
		page.Past = append(page.Past, PastSeason{ID: string(h.ID), Label: h.Label})
	}
	site, err := s.DB.Site(r.Context(), tank.SiteID)
	if err != nil {
		return err
	}
	page.Site, page.Title = site.Name, tank.Name+", "+site.Name
	page.Styles = []string{"pieces.css", "tank.css"}
	return s.Render(w, r, http.StatusOK, NoSeason(page))
}

// safeBands are the temperatures between which nothing is raised, by the stage
// that the forecast expects on each day. Without a forecast the stage believed
// in today stands for all days; without a stage there is no band.
func safeBands(a assess.Result, profile *rules.Profile) []chart.Band {
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
		b := chart.Band{From: sp.from, To: to, Low: assess.Celsius(low), High: assess.Celsius(high)}
		if n := len(out); n > 0 && out[n-1].Low == b.Low && out[n-1].High == b.High {
			out[n-1].To = to
			continue
		}
		out = append(out, b)
	}
	return out
}
