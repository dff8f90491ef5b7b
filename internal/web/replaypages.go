package web

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

// replayRoutes run the rules over past seasons again, for coordinators.
func (s *Server) replayRoutes(r chi.Router) { r.Get("/replay", s.page(s.replayShow)) }

// Choices of seasons beside a single one.
const (
	replayClosed = "closed"
	replayAll    = "all"
)

// replayRows bounds a list of flags on the page.
const replayRows = 100

// replayShow shows the form and, when asked, what the limits in use and a changed
// one would have raised. It stores nothing.
func (s *Server) replayShow(w http.ResponseWriter, r *http.Request) error {
	p := visitOf(r).p
	f := &form{values: r.URL.Query()}
	m := view.ReplayPage{Page: s.newPage(r, "replay.title", "rules")}
	m.Styles = []string{"pieces.css", "tank.css"}
	heads, err := s.db.SeasonHeads(r.Context(), store.SeasonFilter{})
	if err != nil {
		return err
	}
	seasons, err := s.replayNames(r, p, heads)
	if err != nil {
		return err
	}
	profile, err := s.profile(r.Context())
	if err != nil {
		return err
	}
	if f.raw("run") != "" {
		if err := s.replayRun(r, &m, f, profile); err != nil {
			return err
		}
	}
	m.Form = s.replayForm(p, f, seasons)
	status := http.StatusOK
	if len(f.problems) > 0 {
		m.Error, status = true, http.StatusUnprocessableEntity
		m.Problems = showProblems(p, f.problems, func(field string) string { return p.T("replay." + field) })
	}
	return s.render(w, r, status, view.ReplayPageView(m))
}

// replayNames are the seasons to choose from.
func (s *Server) replayNames(r *http.Request, p *i18n.Printer, heads []store.SeasonHead) ([]view.Option, error) {
	sites, err := s.db.Sites(r.Context())
	if err != nil {
		return nil, err
	}
	tanks, err := s.db.Tanks(r.Context(), "")
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
	out := []view.Option{{Value: replayClosed, Label: p.T("replay.seasons.closed")}, {Value: replayAll, Label: p.T("replay.seasons.all")}}
	for _, h := range heads[:min(len(heads), replayPageSeasons)] {
		out = append(out, view.Option{Value: string(h.ID), Label: p.T("replay.season_name",
			logbook.Args{"Tank": name[h.TankID], "Site": name[h.SiteID], "Label": h.Label})})
	}
	return out, nil
}

func (s *Server) replayForm(p *i18n.Printer, f *form, seasons []view.Option) []view.FormItem {
	b := formItems(s.cat, p, "replay")
	chosen := f.raw("seasons")
	if chosen == "" {
		chosen = replayClosed
	}
	b.pick("seasons", chosen, seasons)
	var limits, species, stages []view.Option
	for _, l := range rules.Limits() {
		limits = append(limits, view.Option{Value: l.String(), Label: p.T(l.MessageKey())})
	}
	for _, k := range logbook.AllSpecies() {
		species = append(species, view.Option{Value: string(k), Label: p.T(k.MessageKey())})
	}
	for _, k := range logbook.Stages() {
		stages = append(stages, view.Option{Value: string(k), Label: p.T(k.MessageKey())})
	}
	b.pick("limit", f.raw("limit"), limits)
	b.number("value", f.raw("value"), "decimal", true, map[string]any{"Unit": p.UnitSymbol()})
	b.pick("species", f.raw("species"), species)
	b.pick("stage", f.raw("stage"), stages)
	for i := range b.list {
		b.list[i].Optional = b.list[i].Name != "seasons"
	}
	return b.list
}

// replayRun reads what is asked and fills the page with the answer; what does not
// fit becomes a problem of the form.
func (s *Server) replayRun(r *http.Request, m *view.ReplayPage, f *form, profile *rules.Profile) error {
	v := visitOf(r)
	ask := ReplayAsk{Closed: f.raw("seasons") != replayAll}
	if k := f.raw("seasons"); k != replayAll && k != replayClosed && k != "" {
		ask.Season = logbook.ID(k)
	}
	readReplayLimit(f, v.p, &ask, profile)
	if len(f.problems) > 0 {
		return nil
	}
	a, err := Replay(r.Context(), s.db, ask, v.now, replayPageSeasons)
	switch {
	case logbook.KindOf(err) == logbook.NotFound:
		f.fail("seasons", "replay.season_unknown", nil)
		return nil
	case err != nil:
		return err
	}
	m.Ran, m.Empty = true, a.InUse.Days == 0
	m.Lines = []string{v.p.T("replay.seen", logbook.Args{"Count": a.InUse.Seasons, "Days": a.InUse.Days})}
	if a.More > 0 {
		m.Lines = append(m.Lines, v.p.T("replay.more", logbook.Args{"Count": a.More}))
	}
	for i, t := range a.Tables(v.p) {
		m.Tables = append(m.Tables, replayTableView(v.p, t, []string{"in-use", "changed"}[i]))
	}
	lists := a.Different(v.p)
	if a.Changed == nil {
		lists = a.All(v.p)
	}
	for i, l := range lists {
		m.Lists = append(m.Lists, replayListView(v.p, l, []string{"first", "second"}[i]))
	}
	return nil
}

// readReplayLimit reads the changed limit, none when no limit is chosen.
func readReplayLimit(f *form, p *i18n.Printer, ask *ReplayAsk, profile *rules.Profile) {
	name := f.raw("limit")
	if name == "" {
		return
	}
	limit, known := rules.LimitNamed(name)
	if !known {
		f.fail("limit", "replay.limit_unknown", nil)
		return
	}
	o := rules.Override{Limit: limit, Species: logbook.Species(f.raw("species")), Stage: logbook.Stage(f.raw("stage")), Reason: "replay"}
	unit := thresholdUnit(profile, limit)
	value := readThreshold(f, p, "value", unit)
	if !value.OK {
		if !f.has("value") {
			f.fail("value", "threshold.empty", nil)
		}
		return
	}
	o.Value = value.V
	if _, err := rules.NewProfile(profile.Revision+1, append(profile.Overrides(), o)); thresholdRefused(f, p, unit, err) {
		return
	}
	ask.Set = []rules.Override{o}
}

func replayTableView(p *i18n.Printer, t ReplayTable, id string) view.ReplayTable {
	out := view.ReplayTable{ID: id, Title: t.Title, Table: view.DataTable{Caption: p.T("replay.caption")}}
	out.Sentence = p.T("replay.per_season", logbook.Args{"Acts": p.Num(t.ActsPerSeason, 2), "Watches": p.Num(t.WatchesPerSeason, 2)})
	out.Verdict = t.Verdict
	if len(t.Rows) == 0 {
		out.Sentence = p.T("replay.no_flags")
	}
	for i, c := range []string{"rule", "act", "watch", "due", "note", "in_seasons", "days"} {
		out.Table.Columns = append(out.Table.Columns, view.DataColumn{Label: p.T("replay." + c), Number: i > 0})
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

func replayListView(p *i18n.Printer, l ReplayList, id string) view.ReplayList {
	out := view.ReplayList{ID: id, Title: l.Title}
	for _, e := range l.Rows[:min(len(l.Rows), replayRows)] {
		out.Rows = append(out.Rows, view.ReplayRow{Raised: e.Raised, Cleared: e.Cleared, Rule: e.Name, Tank: e.Tank, Kind: e.KindOf,
			Href: "/seasons/" + string(e.SeasonID)})
	}
	if n := len(l.Rows); n > replayRows {
		out.Shown = p.T("replay.shown", logbook.Args{"Shown": replayRows, "Count": n})
	}
	return out
}
