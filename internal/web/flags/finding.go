package flags

import (
	"net/http"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

func (s *Service) flagFindingShow(w http.ResponseWriter, r *http.Request) error {
	f, season, err := s.flagToFind(r)
	if err != nil {
		return err
	}
	return s.Render(w, r, http.StatusOK, ui.FormPageView(s.flagFindingForm(r, &f, season)))
}

// flagToFind loads a flag of which people can say what was behind it.
func (s *Service) flagToFind(r *http.Request) (store.Flag, *logbook.Season, error) {
	f, season, err := s.flagOf(r)
	if err == nil && !f.AskFinding() {
		err = logbook.Errorf(logbook.Conflict, "error.flag.no_finding", nil)
	}
	return f, season, err
}

func (s *Service) flagFindingForm(r *http.Request, f *store.Flag, season *logbook.Season) ui.FormPage {
	p := s.InSite(req.Of(r), season.Site)
	back := ui.SeasonPath(season.ID)
	if asked := req.SafeNext(r.FormValue("back")); asked != "/" {
		back = asked
	}
	m := ui.FormPage{Page: s.NewPage(r, "flag.finding.title", "board"), Action: ui.FlagPath(f.ID, "/finding"),
		Submit: p.T("flag.finding.submit"), Cancel: back, Hidden: []ui.Option{{Value: "back", Label: back}},
		Intro: season.Site.Name + ", " + season.Tank.Name + ": " + s.saidToday(r, p, f, season)}
	tiles := ui.FormItem{Kind: ui.TilesItem, Field: ui.Field{Name: "finding", Label: p.T("flag.finding.question"),
		Hint: p.T("flag.finding.hint")}}
	for _, k := range store.FindingKinds() {
		tiles.Options = append(tiles.Options, ui.Option{Value: string(k), Label: p.T("flag.finding." + string(k))})
	}
	m.Items = []ui.FormItem{tiles,
		{Kind: ui.AreaItem, Field: ui.Field{Name: "note", Label: p.T("flag.finding.note"),
			Hint: p.T("flag.finding.note_hint"), Optional: true}}}
	return m
}

func (s *Service) flagFinding(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	f, season, err := s.flagToFind(r)
	if err != nil {
		return err
	}
	in, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	found := store.FlagFinding{FlagID: f.ID, What: store.FindingKind(in.Raw("finding")), Note: in.Text("note")}
	switch {
	case found.What == "":
		in.Fail("finding", "choice.empty", nil)
	case !found.What.Known():
		in.Fail("finding", "choice.unknown", nil)
	}
	if len([]rune(found.Note)) > logbook.MaxReason {
		in.Fail("note", "entry.too_long", logbook.Args{"Max": logbook.MaxReason})
	}
	if len(in.Problems) > 0 {
		m := s.flagFindingForm(r, &f, season)
		m.Error = true
		keepTyped(&m, in)
		m.Problems = form.ShowProblems(v.P, in.Problems, findingLabel(v.P))
		return s.Render(w, r, http.StatusUnprocessableEntity, ui.FormPageView(m))
	}
	if _, err := s.DB.SetFinding(r.Context(), v.Actor, found, v.Now); err != nil {
		return err
	}
	return s.FlagDone(w, r, v.P.T("flag.finding.done"), f.SeasonID)
}

func findingLabel(p *i18n.Printer) func(string) string {
	return func(field string) string {
		if field == "note" {
			return p.T("flag.finding.note")
		}
		return p.T("flag.finding.question")
	}
}
