package limits

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/assess"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// replayRoutes run the rules over past seasons again, for coordinators.
func (s *Service) replayRoutes(r chi.Router) { r.Get("/replay", s.Page(s.replayShow)) }

// Choices of seasons beside a single one.
const (
	replayClosed = "closed"
	replayAll    = "all"
)

// replayRows bounds a list of flags on the page.
const replayRows = 100

// replayShow shows the form and, when asked, what the limits in use and a changed
// one would have raised. It stores nothing.
func (s *Service) replayShow(w http.ResponseWriter, r *http.Request) error {
	p := req.Of(r).P
	f := &form.Form{Values: r.URL.Query()}
	m := ReplayPage{Page: s.NewPage(r, "replay.title", "rules")}
	m.Styles = []string{"pieces.css", "tank.css"}
	heads, err := s.DB.SeasonHeads(r.Context(), store.SeasonFilter{})
	if err != nil {
		return err
	}
	seasons, err := s.replayNames(r, p, heads)
	if err != nil {
		return err
	}
	profile, err := s.Assess.Profile(r.Context())
	if err != nil {
		return err
	}
	if f.Raw("run") != "" {
		if err := s.replayRun(r, &m, f, profile); err != nil {
			return err
		}
	}
	m.Form = s.replayForm(p, f, seasons, len(heads))
	status := http.StatusOK
	if len(f.Problems) > 0 {
		m.Error, status = true, http.StatusUnprocessableEntity
		m.Problems = form.ShowProblems(p, f.Problems, func(field string) string { return p.T("replay." + field) })
	}
	return s.Render(w, r, status, ReplayPageView(m))
}

// replayNames are the seasons to choose from.
func (s *Service) replayNames(r *http.Request, p *i18n.Printer, heads []store.SeasonHead) ([]ui.Option, error) {
	sites, err := s.DB.Sites(r.Context())
	if err != nil {
		return nil, err
	}
	tanks, err := s.DB.Tanks(r.Context(), "")
	if err != nil {
		return nil, err
	}
	name := map[logbook.ID]string{}
	for _, site := range sites {
		name[site.ID] = site.Name
	}
	for _, tank := range tanks {
		name[tank.ID] = tank.Name
	}
	out := []ui.Option{{Value: replayClosed, Label: p.T("replay.seasons.closed")},
		{Value: replayAll, Label: p.T("replay.seasons.all")}}
	for _, h := range heads[:min(len(heads), assess.ReplayPageSeasons)] {
		out = append(out, ui.Option{Value: string(h.ID), Label: p.T("replay.season_name",
			logbook.Args{"Tank": name[h.TankID], "Site": name[h.SiteID], "Label": h.Label})})
	}
	return out, nil
}

func (s *Service) replayForm(p *i18n.Printer, f *form.Form, seasons []ui.Option, heads int) []ui.FormItem {
	b := form.FormItems(s.Cat, p, "replay")
	chosen := f.Raw("seasons")
	if chosen == "" {
		chosen = replayClosed
	}
	b.Pick("seasons", chosen, seasons)
	if left := heads - assess.ReplayPageSeasons; left > 0 {
		b.List[len(b.List)-1].Hint = p.T("replay.seasons.left", logbook.Args{"Count": left})
	}
	var limits, species, stages []ui.Option
	for _, l := range rules.Limits() {
		limits = append(limits, ui.Option{Value: l.String(), Label: p.T(l.MessageKey())})
	}
	for _, k := range logbook.AllSpecies() {
		species = append(species, ui.Option{Value: string(k), Label: p.T(k.MessageKey())})
	}
	for _, k := range logbook.Stages() {
		stages = append(stages, ui.Option{Value: string(k), Label: p.T(k.MessageKey())})
	}
	b.Pick("limit", f.Raw("limit"), limits)
	b.Number("value", f.Raw("value"), "decimal", true, map[string]any{"Unit": p.UnitSymbol()})
	b.Pick("species", f.Raw("species"), species)
	b.Pick("stage", f.Raw("stage"), stages)
	for i := range b.List {
		b.List[i].Optional = b.List[i].Name != "seasons"
	}
	return b.List
}

// replayRun reads what is asked and fills the page with the answer; what does not
// fit becomes a problem of the form.
func (s *Service) replayRun(r *http.Request, m *ReplayPage, f *form.Form, profile *rules.Profile) error {
	v := req.Of(r)
	ask := assess.ReplayAsk{Closed: f.Raw("seasons") != replayAll}
	if k := f.Raw("seasons"); k != replayAll && k != replayClosed && k != "" {
		ask.Season = logbook.ID(k)
	}
	readReplayLimit(f, v.P, &ask, profile)
	if len(f.Problems) > 0 {
		return nil
	}
	a, err := assess.Replay(r.Context(), s.DB, ask, v.Now, assess.ReplayPageSeasons)
	switch {
	case logbook.KindOf(err) == logbook.NotFound:
		f.Fail("seasons", "replay.season_unknown", nil)
		return nil
	case err != nil:
		return err
	}
	m.Ran, m.Empty = true, a.InUse.Days == 0
	m.Lines = []string{v.P.T("replay.seen", logbook.Args{"Count": a.InUse.Seasons, "Days": a.InUse.Days})}
	if a.More > 0 {
		m.Lines = append(m.Lines, v.P.T("replay.more", logbook.Args{"Count": a.More}))
	}
	for i, t := range a.Tables(v.P) {
		m.Tables = append(m.Tables, replayTableView(v.P, t, []string{"in-use", "changed"}[i]))
	}
	lists := a.Different(v.P)
	if a.Changed == nil {
		lists = a.All(v.P)
	}
	for i, l := range lists {
		m.Lists = append(m.Lists, replayListView(v.P, l, []string{"first", "second"}[i]))
	}
	return nil
}

// readReplayLimit reads the changed limit, none when no limit is chosen.
func readReplayLimit(f *form.Form, p *i18n.Printer, ask *assess.ReplayAsk, profile *rules.Profile) {
	name := f.Raw("limit")
	if name == "" {
		return
	}
	limit, known := rules.LimitNamed(name)
	if !known {
		f.Fail("limit", "replay.limit_unknown", nil)
		return
	}
	o := rules.Override{Limit: limit, Species: logbook.Species(f.Raw("species")), Stage: logbook.Stage(f.Raw("stage")),
		Reason: "replay"}
	unit := thresholdUnit(profile, limit)
	value := readThreshold(f, p, "value", unit)
	if !value.OK {
		if !f.Has("value") {
			f.Fail("value", "threshold.empty", nil)
		}
		return
	}
	o.Value = value.V
	if _, err := rules.NewProfile(profile.Revision+1, append(profile.Overrides(), o)); thresholdRefused(f, p, unit,
		err) {
		return
	}
	ask.Set = []rules.Override{o}
}

func replayTableView(p *i18n.Printer, t assess.ReplayTable, id string) ReplayTable {
	out := ReplayTable{ID: id, Title: t.Title, Table: ui.DataTable{Caption: p.T("replay.caption")}}
	out.Sentence = p.T("replay.per_season", logbook.Args{"Acts": p.Num(t.ActsPerSeason, 2),
		"Watches": p.Num(t.WatchesPerSeason, 2)})
	out.Verdict = t.Verdict
	if len(t.Rows) == 0 {
		out.Sentence = p.T("replay.no_flags")
	}
	for i, c := range []string{"rule", "act", "watch", "due", "note", "in_seasons", "days"} {
		out.Table.Columns = append(out.Table.Columns, ui.DataColumn{Label: p.T("replay." + c), Number: i > 0})
	}
	for _, c := range t.Rows {
		row := []string{c.Name}
		for _, n := range []int{c.Act, c.Watch, c.Due, c.Note, c.Seasons, c.Days} {
			row = append(row, p.Count(n))
		}
		out.Table.Rows = append(out.Table.Rows, row)
	}
	return out
}

func replayListView(p *i18n.Printer, l assess.ReplayList, id string) ReplayList {
	out := ReplayList{ID: id, Title: l.Title}
	for _, e := range l.Rows[:min(len(l.Rows), replayRows)] {
		out.Rows = append(out.Rows, ReplayRow{Raised: e.Raised, Cleared: e.Cleared, Rule: e.Name, Tank: e.Tank,
			Kind: e.KindOf,
			Href: ui.SeasonPath(e.SeasonID)})
	}
	if n := len(l.Rows); n > replayRows {
		out.Shown = p.T("replay.shown", logbook.Args{"Shown": replayRows, "Count": n})
	}
	return out
}
