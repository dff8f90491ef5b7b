package entry

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// sampleRoutes are fish that were weighed and measured.
func (s *Service) sampleRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/samples/new", s.Page(s.sampleNew))
	r.Post("/seasons/{seasonID}/samples", s.Page(s.sampleCreate))
	r.Get("/samples/{sampleID}", s.Page(s.sampleShow))
	r.Get("/samples/{sampleID}/correct", s.Page(s.sampleEdit))
	r.Post("/samples/{sampleID}/correct", s.Page(s.sampleCorrect))
	r.Get("/samples/{sampleID}/void", s.Page(s.sampleVoiding().ask(s)))
	r.Post("/samples/{sampleID}/void", s.Page(s.sampleVoiding().store(s)))
}

func (s *Service) sampleNew(w http.ResponseWriter, r *http.Request) error {
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	f := form.NewForm()
	today := s.Assess.Today(season.Site, req.Of(r).Now).String()
	f.Set("on", today)
	f.Set("opened", today)
	f.Set("key", string(logbook.NewID()))
	return s.renderSampleNew(w, r, http.StatusOK, season, f)
}

func (s *Service) renderSampleNew(w http.ResponseWriter, r *http.Request, status int, season *logbook.Season,
	f *form.Form) error {
	m := s.sampleForm(r, "sample.title", season, f)
	m.Action, m.Submit = ui.SeasonPath(season.ID, "/samples"), m.T("sample.submit")
	m.WaitForm = m.Action + "/new"
	m.Draft = "sample:" + string(season.ID) + ":" + f.Text("opened")
	key := form.FormKey(f.Text("key"))
	if key == "" {
		key = string(logbook.NewID())
	}
	m.Hidden = append(m.Hidden, ui.Option{Value: "key", Label: key},
		ui.Option{Value: "opened", Label: f.Text("opened")})
	return s.Render(w, r, status, EventFormPage(m))
}

// sampleCreate stores a sample, or shows the form again with what is wrong.
func (s *Service) sampleCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	m := readSample(f, season)
	saved, err := s.Entries.Samples().New(r.Context(), req.Sent(r, season, f), &m)
	if entries.IsMismatch(err) {
		f.Fail("on", "sample.sent_before", nil)
		f.Set("key", string(logbook.NewID()))
	}
	if f.Refused(err); len(f.Problems) > 0 {
		keepConfirmed(f, m.Confirmed)
		return s.renderSampleNew(w, r, http.StatusUnprocessableEntity, season, f)
	}
	if err != nil {
		return err
	}
	s.SetNotice(r, v.P.T("sample.saved", logbook.Args{"Tank": season.Tank.Name, "On": saved.Row.On}))
	s.goOn(w, r, ui.SamplePath(saved.Row.ID))
	return nil
}

// sampleShow shows a stored sample, what follows from it and what the log says.
func (s *Service) sampleShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	sample, season, err := s.StoredSample(r)
	if err != nil {
		return err
	}
	href := ui.SamplePath(sample.ID)
	m := EntryShow{Page: s.EntryPage(r, "sample.show_title", season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: ui.SeasonPath(season.ID), Mark: ui.EntryMark{Corrections: words.Corrections(sample.Entry),
			Voided: sample.Voided}}
	if !sample.Voided {
		m.CorrectHref, m.VoidHref = href+"/correct", href+"/void"
	}
	m.AgainHref, m.AgainLabel = m.TankHref+ui.PageFood, m.T("food.title")
	m.Lines = append(sampleLines(m.P, sample), sampleFindings(m.P, season, sample.ID,
		s.Assess.Today(season.Site, v.Now))...)
	if m.Entered, err = s.entryHistory(r, &m, season, sample.ID, sample.Entry); err != nil {
		return err
	}
	if err := s.flagsNow(r.Context(), &m, season, sample.ChangedAt, v.Now); err != nil {
		return err
	}
	return s.Render(w, r, http.StatusOK, EntryShowPage(m))
}

// changeableSample loads the sample of the address when it may still be changed.
func (s *Service) changeableSample(r *http.Request) (*logbook.Sample, *logbook.Season, error) {
	m, season, err := s.StoredSample(r)
	if err == nil && m.Voided {
		err = logbook.Errorf(logbook.Conflict, "error.voided", nil)
	}
	return m, season, err
}

func (s *Service) sampleEdit(w http.ResponseWriter, r *http.Request) error {
	m, season, err := s.changeableSample(r)
	if err != nil {
		return err
	}
	return s.renderSampleEdit(w, r, http.StatusOK, m, season, s.sampleFilled(r, m, season))
}

// sampleFilled is the form of what is stored.
func (s *Service) sampleFilled(r *http.Request, m *logbook.Sample, season *logbook.Season) *form.Form {
	return form.Filled(s.InSite(req.Of(r), season.Site), logbook.SampleFields(), season.Site.TemperatureUnit, m,
		m.Revision)
}

func (s *Service) renderSampleEdit(w http.ResponseWriter, r *http.Request, status int, have *logbook.Sample,
	season *logbook.Season, f *form.Form) error {
	m := s.sampleForm(r, "sample.correct_title", season, f)
	href := ui.SamplePath(have.ID)
	m.Action, m.Submit, m.VoidHref = href+"/correct", m.T("check_form.correct_submit"), href+"/void"
	m.Reasons = words.ReasonOptions(m.P)
	m.Hidden = append(m.Hidden, ui.Option{Value: "revision", Label: f.Text("revision")})
	m.Draft = "sample-correct:" + string(have.ID) + ":" + f.Text("revision")
	return s.Render(w, r, status, EventFormPage(m))
}

// sampleCorrect stores a correction. When somebody else changed the sample
// meanwhile, the form is shown again over what is stored now.
func (s *Service) sampleCorrect(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	have, season, err := s.changeableSample(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	if f.Text("review") != "" {
		return s.renderSampleEdit(w, r, http.StatusOK, have, season, f)
	}
	m := readSample(f, season)
	m.ID = have.ID
	from, reason := f.Revision(), form.FormReason(f)
	saved, err := s.Entries.Samples().Correct(r.Context(), req.Sent(r, season, f), have, &m, from, reason)
	if f.Refused(err); len(f.Problems) > 0 {
		keepConfirmed(f, m.Confirmed)
		return s.renderSampleEdit(w, r, http.StatusUnprocessableEntity, have, season, f)
	}
	if cur := entries.Current[logbook.Sample](err); cur != nil {
		f.Set("on", m.On.String()) // whichever tile it came from
		f.EditConflict(s.sampleFilled(r, cur, season), cur.Revision)
		return s.renderSampleEdit(w, r, http.StatusConflict, cur, season, f)
	}
	if err != nil {
		return err
	}
	key := "check_page.corrected"
	if saved.Repeated {
		key = "check_page.unchanged"
	}
	s.SetNotice(r, v.P.T(key))
	http.Redirect(w, r, ui.SamplePath(have.ID), http.StatusSeeOther)
	return nil
}
