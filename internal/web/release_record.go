package web

import (
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/view"
)

// releaseRecordFields are the questions whose answers stand in the record of a
// release and can be corrected there; the others belong to its event.
var releaseRecordFields = []string{"water_body", "latitude", "longitude", "purpose", "life_stage", "health", "health_note", "mean_mm", "size_how",
	"transport", "water_source", "oxygen", "container", "water", "left", "arrived", "bucket", "stream", "temper_steps", "temper_minutes"}

// readReleaseRecord reads the record from the answers to releaseRecordFields;
// temperatures without a unit are in that given.
func readReleaseRecord(f *form, unit units.TemperatureUnit) logbook.ReleaseRecord {
	temperature := func(name string) units.Optional[units.Celsius] { return optTemperature(f, name, unit) }
	return logbook.ReleaseRecord{WaterBody: f.text("water_body"), Latitude: f.number("latitude"), Longitude: f.number("longitude"),
		Purpose: f.text("purpose"), LifeStage: logbook.Stage(f.text("life_stage")), MeanMM: optional[units.Millimetres](f, "mean_mm"),
		SizeMethod: f.text("size_how"), Transport: f.text("transport"), LeftAt: f.text("left"), ArrivedAt: f.text("arrived"),
		Container: optional[units.Litres](f, "container"), Oxygen: logbook.OxygenSupply(f.text("oxygen")), WaterSource: f.text("water_source"),
		Tank: temperature("water"), Bucket: temperature("bucket"), Stream: temperature("stream"),
		TemperSteps: f.count("temper_steps"), TemperMinutes: f.count("temper_minutes"),
		Health: logbook.HealthStatement(f.text("health")), HealthNote: f.text("health_note")}
}

// releaseRecordForm fills the form with what a record says.
func releaseRecordForm(p *i18n.Printer, r *logbook.ReleaseRecord) *form {
	temperature := func(t units.Optional[units.Celsius]) string {
		if !t.OK {
			return ""
		}
		return typed(p, units.Round(p.Unit().FromCelsius(t.V), 6))
	}
	f := newForm()
	for name, value := range map[string]string{"water_body": r.WaterBody, "latitude": typedOpt(p, r.Latitude), "longitude": typedOpt(p, r.Longitude),
		"purpose": r.Purpose, "life_stage": string(r.LifeStage), "health": string(r.Health), "health_note": r.HealthNote, "mean_mm": typedOpt(p, r.MeanMM),
		"size_how": r.SizeMethod, "transport": r.Transport, "water_source": r.WaterSource, "oxygen": string(r.Oxygen), "container": typedOpt(p, r.Container),
		"water": temperature(r.Tank), "left": r.LeftAt, "arrived": r.ArrivedAt, "bucket": temperature(r.Bucket), "stream": temperature(r.Stream),
		"temper_steps": typedCount(r.TemperSteps), "temper_minutes": typedCount(r.TemperMinutes),
		"revision": strconv.FormatInt(r.Revision, 10)} {
		f.set(name, value)
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

// releaseOfRequest loads the record of the address and its season.
func (s *Server) releaseOfRequest(r *http.Request) (*logbook.ReleaseRecord, *logbook.Season, error) {
	rec, err := s.db.Release(r.Context(), logbook.ID(chi.URLParam(r, "releaseID")))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.seasonByID(r, rec.SeasonID, "release_record")
	return &rec, season, err
}

func (s *Server) releaseEdit(w http.ResponseWriter, r *http.Request) error {
	rec, season, err := s.releaseOfRequest(r)
	if err != nil {
		return err
	}
	return s.renderReleaseEdit(w, r, http.StatusOK, rec, season, releaseRecordForm(s.inSite(visitOf(r), season.Site), rec))
}

// releaseQuestions is the guide whose questions the correction asks.
func (s *Server) releaseQuestions(r *http.Request, season *logbook.Season) *guide {
	p := s.inSite(visitOf(r), season.Site)
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

func (s *Server) renderReleaseEdit(w http.ResponseWriter, r *http.Request, status int, rec *logbook.ReleaseRecord, season *logbook.Season, f *form) error {
	g := s.releaseQuestions(r, season)
	b := s.guidedItems(g, f)
	b.pick("reason", f.raw("reason"), append([]view.Option{{Value: "", Label: g.p.T("guided.choose")}}, reasonOptions(g.p)...))
	b.optionalText("reason_text", f.raw("reason_text"))
	m := view.FormPage{Page: s.newPage(r, "release.correct_title", "board"), Action: "/releases/" + string(rec.ID) + "/correct",
		Cancel: "/seasons/" + string(season.ID) + "/report", Items: b.list, Problems: b.problems(f.problems)}
	m.P = g.p
	m.Title = g.p.T("release.correct_title", logbook.Args{"Tank": season.Tank.Name})
	m.Intro, m.Submit = g.p.T("release.correct_intro"), g.p.T("check_form.correct_submit")
	m.Error = len(f.problems) > 0
	m.Hidden = []view.Option{{Value: "revision", Label: f.text("revision")}}
	return s.render(w, r, status, view.FormPageView(m))
}

// releaseCorrect stores a correction of a record; the old form stays.
func (s *Server) releaseCorrect(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	have, season, err := s.releaseOfRequest(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	g := s.releaseQuestions(r, season)
	for _, q := range g.step.fields {
		g.judge(f, q)
	}
	from, reason := f.revision(), formReason(f)
	if len(f.problems) > 0 {
		return s.renderReleaseEdit(w, r, http.StatusUnprocessableEntity, have, season, f)
	}
	rec := readReleaseRecord(f, g.p.Unit())
	rec.EventID, rec.Supplier, rec.Stock = have.EventID, have.Supplier, have.Stock
	rec.First, rec.Second, rec.Third = have.First, have.Second, have.Third
	rec.ReasonAgain, rec.ReasonMore, rec.NotReady = have.ReasonAgain, have.ReasonMore, have.NotReady
	_, err = s.db.CorrectRelease(r.Context(), v.actor, have.ID, from, rec, reason, v.now)
	if cur := current[logbook.ReleaseRecord](err); cur != nil {
		f.fail("revision", "guided.stale", nil)
		f.set("revision", strconv.FormatInt(cur.Revision, 10))
		return s.renderReleaseEdit(w, r, http.StatusConflict, cur, season, f)
	}
	if err != nil {
		return err
	}
	s.setNotice(r, v.p.T("check_page.corrected"))
	http.Redirect(w, r, "/seasons/"+string(season.ID)+"/report", http.StatusSeeOther)
	return nil
}
