package web

import (
	"net/http"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

// findings are what people found, the newest of each flag.
type findings map[logbook.ID]*store.FlagFinding

func newestFindings(all []store.FlagFinding) findings {
	out := make(findings, len(all))
	for i := range all {
		out[all[i].FlagID] = &all[i]
	}
	return out
}

// findingLine says what was found of a flag; ok is false when nobody has said it.
func findingLine(fs findings, p *i18n.Printer, id logbook.ID, site logbook.Site) (line string, ok bool) {
	f := fs[id]
	if f == nil {
		return "", false
	}
	args := logbook.Args{"What": p.T("flag.finding." + string(f.What)), "By": f.By, "At": atSite(p, site, f.At), "Note": f.Note}
	if f.Note == "" {
		return p.T("flag.finding.line", args), true
	}
	return p.T("flag.finding.line_note", args), true
}

func (s *Server) flagFindingShow(w http.ResponseWriter, r *http.Request) error {
	f, season, err := s.flagToFind(r)
	if err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, view.FormPageView(s.flagFindingForm(r, &f, season)))
}

// flagToFind loads a flag of which people can say what was behind it.
func (s *Server) flagToFind(r *http.Request) (store.Flag, *logbook.Season, error) {
	f, season, err := s.flagOf(r)
	if err == nil && !f.AskFinding() {
		err = logbook.Errorf(logbook.Conflict, "error.flag.no_finding", nil)
	}
	return f, season, err
}

func (s *Server) flagFindingForm(r *http.Request, f *store.Flag, season *logbook.Season) view.FormPage {
	p := s.inSite(visitOf(r), season.Site)
	back := "/seasons/" + string(season.ID)
	if asked := safeNext(r.FormValue("back")); asked != "/" {
		back = asked
	}
	m := view.FormPage{Page: s.newPage(r, "flag.finding.title", "board"), Action: "/flags/" + string(f.ID) + "/finding",
		Submit: p.T("flag.finding.submit"), Cancel: back, Hidden: []view.Option{{Value: "back", Label: back}},
		Intro: season.Site.Name + ", " + season.Tank.Name + ": " + saidThen(p, f.Rule, f.Args)}
	tiles := view.FormItem{Kind: view.TilesItem, Field: view.Field{Name: "finding", Label: p.T("flag.finding.question"), Hint: p.T("flag.finding.hint")}}
	for _, k := range store.FindingKinds() {
		tiles.Options = append(tiles.Options, view.Option{Value: string(k), Label: p.T("flag.finding." + string(k))})
	}
	m.Items = []view.FormItem{tiles,
		{Kind: view.AreaItem, Field: view.Field{Name: "note", Label: p.T("flag.finding.note"), Hint: p.T("flag.finding.note_hint"), Optional: true}}}
	return m
}

func (s *Server) flagFinding(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	f, season, err := s.flagToFind(r)
	if err != nil {
		return err
	}
	in, err := readForm(r)
	if err != nil {
		return err
	}
	found := store.FlagFinding{FlagID: f.ID, What: store.FindingKind(in.raw("finding")), Note: in.text("note")}
	switch {
	case found.What == "":
		in.fail("finding", "choice.empty", nil)
	case !found.What.Known():
		in.fail("finding", "choice.unknown", nil)
	}
	if len([]rune(found.Note)) > maxReason {
		in.fail("note", "entry.too_long", logbook.Args{"Max": maxReason})
	}
	if len(in.problems) > 0 {
		m := s.flagFindingForm(r, &f, season)
		m.Error = true
		keepTyped(&m, in)
		m.Problems = showProblems(v.p, in.problems, findingLabel(v.p))
		return s.render(w, r, http.StatusUnprocessableEntity, view.FormPageView(m))
	}
	if _, err := s.db.SetFinding(r.Context(), v.actor, found, v.now); err != nil {
		return err
	}
	return s.flagDone(w, r, v.p.T("flag.finding.done"), f.SeasonID)
}

func findingLabel(p *i18n.Printer) func(string) string {
	return func(field string) string {
		if field == "note" {
			return p.T("flag.finding.note")
		}
		return p.T("flag.finding.question")
	}
}

// judgedBy turns what people found of the flags of a season into what a replay
// can be held against: stretches in which something was wrong, and those in which
// a flag was up for nothing. last is the last day of the season so far.
func (fs findings) judgedBy(flags []store.Flag, last civil.Date) (incidents, quiet []rules.Incident) {
	family := map[string]rules.Family{}
	for _, r := range rules.All() {
		family[r.ID] = r.Family
	}
	for i := range flags {
		f := &flags[i]
		found := fs[f.ID]
		if found == nil {
			continue
		}
		span := rules.Incident{From: f.RaisedOn, To: last}
		if !f.ClearedOn.IsZero() {
			span.To = civil.Max(f.RaisedOn, f.ClearedOn.AddDays(-1))
		}
		switch found.What {
		case store.FoundReal:
			span.Family = family[f.Rule]
			incidents = append(incidents, span)
		case store.FoundNothing:
			span.Rule = f.Rule
			quiet = append(quiet, span)
		}
	}
	return incidents, quiet
}
