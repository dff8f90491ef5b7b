package reports

import (
	"net/http"
	"slices"

	"reddside/internal/entries"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// releaseRecordFields are the questions whose answers stand in the record of a
// release and can be corrected there; the others belong to its event.
var releaseRecordFields = []string{"water_body", "coordinates", "latitude", "longitude", "purpose", "life_stage", "health",
	"health_note", "mean_mm", "size_how",
	"transport", "water_source", "oxygen", "container", "water", "left", "arrived", "bucket", "stream", "stream_oxygen", "stream_ph",
	"bucket_ph", "temper_steps", "temper_minutes", "reason_single", "deviation_why"}

// releaseAsked are the fields of those questions.
func releaseAsked() []logbook.Field[logbook.ReleaseRecord] {
	return slices.DeleteFunc(slices.Clone(logbook.ReleaseFields()), func(f logbook.Field[logbook.ReleaseRecord]) bool {
		return !slices.Contains(releaseRecordFields, f.Question())
	})
}

// releaseRecordForm fills the form with what a record says.
func releaseRecordForm(p *i18n.Printer, r *logbook.ReleaseRecord) *form.Form {
	return form.Filled(p, releaseAsked(), p.Unit(), r, r.Revision)
}

// factNames are the names of facts in reports that are not those of the questions.
var factNames = map[string]string{"oxygen": "oxygen_supply", "water": "tank_water", "bucket": "bucket_water",
	"stream": "stream_water"}

// releaseFacts writes what a record says, item by item, for a report. What was
// not told is left out by the report.
func releaseFacts(r *logbook.ReleaseRecord) []reportFact {
	var out []reportFact
	for _, f := range logbook.Asked(logbook.ReleaseFields()) {
		name := f.Question()
		if other := factNames[name]; other != "" {
			name = other
		}
		out = append(out, reportFact{name, f.Quantity(r), f.Unit})
	}
	return out
}

func (s *Service) releaseEdit(w http.ResponseWriter, r *http.Request) error {
	rec, season, err := s.ReleaseOfRequest(r)
	if err != nil {
		return err
	}
	return s.renderReleaseEdit(w, r, http.StatusOK, rec, season, releaseRecordForm(s.InSite(req.Of(r), season.Site),
		rec))
}

// releaseQuestions is the guide whose questions the correction asks.
func (s *Service) releaseQuestions(r *http.Request, season *logbook.Season) *guide {
	p := s.InSite(req.Of(r), season.Site)
	g := &guide{prefix: "release", p: p, choices: releaseChoices(p)}
	for _, name := range releaseRecordFields {
		for _, st := range releaseSteps {
			for _, q := range st.fields {
				if q.name == name {
					g.step.fields = append(g.step.fields, q)
				}
			}
		}
	}
	return g
}

func (s *Service) renderReleaseEdit(w http.ResponseWriter, r *http.Request, status int, rec *logbook.ReleaseRecord,
	season *logbook.Season, f *form.Form) error {
	g := s.releaseQuestions(r, season)
	b := s.guidedItems(g, f)
	b.Pick("reason", f.Raw("reason"), append([]ui.Option{{Value: "", Label: g.p.T("guided.choose")}},
		words.ReasonOptions(g.p)...))
	b.OptionalText("reason_text", f.Raw("reason_text"))
	m := ui.FormPage{Page: s.NewPage(r, "release.correct_title", "board"), Action: ui.ReleasePath(rec.ID, "/correct"),
		Cancel: ui.SeasonPath(season.ID, "/report"), Items: b.List, Problems: b.Problems(f.Problems)}
	m.P = g.p
	m.Title = g.p.T("release.correct_title", logbook.Args{"Tank": season.Tank.Name})
	m.Intro, m.Submit = g.p.T("release.correct_intro"), g.p.T("check_form.correct_submit")
	m.Error = len(f.Problems) > 0
	m.Hidden = []ui.Option{{Value: "revision", Label: f.Text("revision")}}
	return s.Render(w, r, status, ui.FormPageView(m))
}

// releaseCorrect stores a correction of a record; the old form stays.
func (s *Service) releaseCorrect(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	have, season, err := s.ReleaseOfRequest(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	if f.Text("review") != "" { // only shown
		return s.renderReleaseEdit(w, r, http.StatusOK, have, season, f)
	}
	g := s.releaseQuestions(r, season)
	for _, q := range g.step.fields {
		g.judge(f, q)
	}
	from, reason := f.Revision(), form.FormReason(f)
	if len(f.Problems) > 0 {
		return s.renderReleaseEdit(w, r, http.StatusUnprocessableEntity, have, season, f)
	}
	rec := *have
	form.ReadFields(f, releaseAsked(), g.p.Unit(), &rec)
	_, err = s.Entries.Releases().Correct(r.Context(), req.Sent(r, season, f), have, &rec, from, reason)
	if cur := entries.Current[logbook.ReleaseRecord](err); cur != nil {
		f.EditConflict(releaseRecordForm(g.p, cur), cur.Revision)
		return s.renderReleaseEdit(w, r, http.StatusConflict, cur, season, f)
	}
	if f.Refused(err); len(f.Problems) > 0 {
		return s.renderReleaseEdit(w, r, http.StatusUnprocessableEntity, have, season, f)
	}
	if err != nil {
		return err
	}
	s.SetNotice(r, v.P.T("check_page.corrected"))
	http.Redirect(w, r, ui.SeasonPath(season.ID, "/report"), http.StatusSeeOther)
	return nil
}
