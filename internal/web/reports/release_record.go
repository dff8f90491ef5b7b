package reports

import (
	"net/http"
	"strconv"

	"reddside/internal/entries"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// releaseRecordFields are the questions whose answers stand in the record of a
// release and can be corrected there; the others belong to its event.
var releaseRecordFields = []string{"water_body", "latitude", "longitude", "purpose", "life_stage", "health", "health_note", "mean_mm", "size_how",
	"transport", "water_source", "oxygen", "container", "water", "left", "arrived", "bucket", "stream", "temper_steps", "temper_minutes"}

// readReleaseRecord reads the record from the answers to releaseRecordFields;
// temperatures without a unit are in that given.
func readReleaseRecord(f *form.Form, unit units.TemperatureUnit) logbook.ReleaseRecord {
	temperature := func(name string) units.Optional[units.Celsius] { return optTemperature(f, name, unit) }
	return logbook.ReleaseRecord{WaterBody: f.Text("water_body"), Latitude: f.Number("latitude"), Longitude: f.Number("longitude"),
		Purpose: f.Text("purpose"), LifeStage: logbook.Stage(f.Text("life_stage")), MeanMM: form.Optional[units.Millimetres](f, "mean_mm"),
		SizeMethod: f.Text("size_how"), Transport: f.Text("transport"), LeftAt: f.Text("left"), ArrivedAt: f.Text("arrived"),
		Container: form.Optional[units.Litres](f, "container"), Oxygen: logbook.OxygenSupply(f.Text("oxygen")), WaterSource: f.Text("water_source"),
		Tank: temperature("water"), Bucket: temperature("bucket"), Stream: temperature("stream"),
		TemperSteps: f.Count("temper_steps"), TemperMinutes: f.Count("temper_minutes"),
		Health: logbook.HealthStatement(f.Text("health")), HealthNote: f.Text("health_note")}
}

// releaseRecordForm fills the form with what a record says.
func releaseRecordForm(p *i18n.Printer, r *logbook.ReleaseRecord) *form.Form {
	temperature := func(t units.Optional[units.Celsius]) string {
		if !t.OK {
			return ""
		}
		return words.Typed(p, units.Round(p.Unit().FromCelsius(t.V), 6))
	}
	f := form.NewForm()
	for name, value := range map[string]string{"water_body": r.WaterBody, "latitude": words.TypedOpt(p, r.Latitude), "longitude": words.TypedOpt(p, r.Longitude),
		"purpose": r.Purpose, "life_stage": string(r.LifeStage), "health": string(r.Health), "health_note": r.HealthNote, "mean_mm": words.TypedOpt(p, r.MeanMM),
		"size_how": r.SizeMethod, "transport": r.Transport, "water_source": r.WaterSource, "oxygen": string(r.Oxygen), "container": words.TypedOpt(p, r.Container),
		"water": temperature(r.Tank), "left": r.LeftAt, "arrived": r.ArrivedAt, "bucket": temperature(r.Bucket), "stream": temperature(r.Stream),
		"temper_steps": words.TypedCount(r.TemperSteps), "temper_minutes": words.TypedCount(r.TemperMinutes),
		"revision": strconv.FormatInt(r.Revision, 10)} {
		f.Set(name, value)
	}
	return f
}

// releaseFacts writes what a record says, item by item, for a report. What was
// not told is left out by the report.
func releaseFacts(r *logbook.ReleaseRecord) []reportFact {
	return []reportFact{{"water_body", r.WaterBody, ""}, {"latitude", optAny(r.Latitude), "deg"}, {"longitude", optAny(r.Longitude), "deg"},
		{"purpose", r.Purpose, ""}, {"life_stage", word0(r.LifeStage), ""}, {"mean_mm", optAny(r.MeanMM), "mm"}, {"size_how", r.SizeMethod, ""},
		{"transport", r.Transport, ""}, {"water_source", r.WaterSource, ""}, {"oxygen_supply", word0(r.Oxygen), ""}, {"container", optAny(r.Container), "L"},
		{"left", r.LeftAt, ""}, {"arrived", r.ArrivedAt, ""}, {"tank_water", optAny(r.Tank), "Cel"}, {"bucket_water", optAny(r.Bucket), "Cel"},
		{"stream_water", optAny(r.Stream), "Cel"}, {"temper_steps", optAny(r.TemperSteps), "1"}, {"temper_minutes", optAny(r.TemperMinutes), "min"},
		{"supplier", r.Supplier, ""}, {"stock", r.Stock, ""}, {"health", word0(r.Health), ""}, {"health_note", r.HealthNote, ""},
		{"first_count", optAny(r.First), "1"}, {"second_count", optAny(r.Second), "1"}, {"third_count", optAny(r.Third), "1"},
		{"reason_again", r.ReasonAgain, ""}, {"reason_more", r.ReasonMore, ""}, {"not_ready", r.NotReady, ""}}
}

// word0 is a choice for a report, nil when nothing was chosen.
func word0[T interface {
	~string
	MessageKey() string
}](v T) any {
	if v == "" {
		return nil
	}
	return v
}

func (s *Service) releaseEdit(w http.ResponseWriter, r *http.Request) error {
	rec, season, err := s.ReleaseOfRequest(r)
	if err != nil {
		return err
	}
	return s.renderReleaseEdit(w, r, http.StatusOK, rec, season, releaseRecordForm(s.InSite(req.Of(r), season.Site), rec))
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

func (s *Service) renderReleaseEdit(w http.ResponseWriter, r *http.Request, status int, rec *logbook.ReleaseRecord, season *logbook.Season, f *form.Form) error {
	g := s.releaseQuestions(r, season)
	b := s.guidedItems(g, f)
	b.Pick("reason", f.Raw("reason"), append([]ui.Option{{Value: "", Label: g.p.T("guided.choose")}}, words.ReasonOptions(g.p)...))
	b.OptionalText("reason_text", f.Raw("reason_text"))
	m := ui.FormPage{Page: s.NewPage(r, "release.correct_title", "board"), Action: "/releases/" + string(rec.ID) + "/correct",
		Cancel: "/seasons/" + string(season.ID) + "/report", Items: b.List, Problems: b.Problems(f.Problems)}
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
	rec := readReleaseRecord(f, g.p.Unit())
	rec.EventID, rec.Supplier, rec.Stock = have.EventID, have.Supplier, have.Stock
	rec.First, rec.Second, rec.Third = have.First, have.Second, have.Third
	rec.ReasonAgain, rec.ReasonMore, rec.NotReady = have.ReasonAgain, have.ReasonMore, have.NotReady
	_, err = s.DB.CorrectRelease(r.Context(), v.Actor, have.ID, from, rec, reason, v.Now)
	if cur := entries.Current[logbook.ReleaseRecord](err); cur != nil {
		f.Fail("revision", "guided.stale", nil)
		f.Set("revision", strconv.FormatInt(cur.Revision, 10))
		return s.renderReleaseEdit(w, r, http.StatusConflict, cur, season, f)
	}
	if err != nil {
		return err
	}
	s.SetNotice(r, v.P.T("check_page.corrected"))
	http.Redirect(w, r, "/seasons/"+string(season.ID)+"/report", http.StatusSeeOther)
	return nil
}
