package web

import (
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

// sampleRoutes are fish that were weighed and measured.
func (s *Server) sampleRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/samples/new", s.page(s.sampleNew))
	r.Post("/seasons/{seasonID}/samples", s.page(s.sampleCreate))
	r.Get("/samples/{sampleID}", s.page(s.sampleShow))
	r.Get("/samples/{sampleID}/correct", s.page(s.sampleEdit))
	r.Post("/samples/{sampleID}/correct", s.page(s.sampleCorrect))
	r.Get("/samples/{sampleID}/void", s.page(s.sampleVoiding().ask(s)))
	r.Post("/samples/{sampleID}/void", s.page(s.sampleVoiding().store(s)))
}

const routeSampleCreate = "POST /seasons/{id}/samples"

func (s *Server) sampleNew(w http.ResponseWriter, r *http.Request) error {
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	f := newForm()
	today := s.today(season.Site, visitOf(r).now).String()
	f.set("on", today)
	f.set("opened", today)
	f.set("key", string(logbook.NewID()))
	return s.renderSampleNew(w, r, http.StatusOK, season, f)
}

func (s *Server) renderSampleNew(w http.ResponseWriter, r *http.Request, status int, season *logbook.Season, f *form) error {
	m := s.sampleForm(r, "sample.title", season, f)
	m.Action, m.Submit = "/seasons/"+string(season.ID)+"/samples", m.T("sample.submit")
	m.WaitForm = m.Action + "/new"
	m.Draft = "sample:" + string(season.ID) + ":" + f.text("opened")
	key := formKey(f.text("key"))
	if key == "" {
		key = string(logbook.NewID())
	}
	m.Hidden = append(m.Hidden, view.Option{Value: "key", Label: key}, view.Option{Value: "opened", Label: f.text("opened")})
	return s.render(w, r, status, view.EventFormPage(m))
}

// sampleCreate stores a sample, or shows the form again with what is wrong.
func (s *Server) sampleCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	m := readSample(f, season)
	problems, err := s.judgeSample(r, &m, season, sampleConfirmed(f, &m, nil))
	if err != nil {
		return err
	}
	if f.add(problems); len(f.problems) > 0 {
		keepSampleConfirmed(f, &m)
		return s.renderSampleNew(w, r, http.StatusUnprocessableEntity, season, f)
	}
	after, err := s.FlagsAfter(r.Context(), season, v.now)
	if err != nil {
		return err
	}
	print, err := fingerprint(m)
	if err != nil {
		return err
	}
	once := store.Once{Key: formKey(f.text("key")), Route: routeSampleCreate, Fingerprint: print}
	saved, err := s.db.CreateSample(r.Context(), v.actor, m, v.now, store.Write{Once: once, After: after})
	if isMismatch(err) {
		f.fail("on", "sample.sent_before", nil)
		f.set("key", string(logbook.NewID()))
		return s.renderSampleNew(w, r, http.StatusUnprocessableEntity, season, f)
	}
	if err != nil {
		return err
	}
	s.setNotice(r, v.p.T("sample.saved", logbook.Args{"Tank": season.Tank.Name, "On": saved.Row.On}))
	s.goOn(w, r, "/samples/"+string(saved.Row.ID))
	return nil
}

// storedSample loads the sample of the address with its season, for an actor who
// may see it.
func (s *Server) storedSample(r *http.Request) (*logbook.Sample, *logbook.Season, error) {
	m, err := s.db.Sample(r.Context(), urlID(r, "sampleID"))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.seasonByID(r, m.SeasonID, "sample")
	return &m, season, err
}

// sampleShow shows a stored sample, what follows from it and what the log says.
func (s *Server) sampleShow(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	sample, season, err := s.storedSample(r)
	if err != nil {
		return err
	}
	href := "/samples/" + string(sample.ID)
	m := view.EntryShow{Page: s.entryPage(r, "sample.show_title", season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: "/seasons/" + string(season.ID), Mark: view.EntryMark{Corrections: corrections(sample.Entry), Voided: sample.Voided}}
	if !sample.Voided {
		m.CorrectHref, m.VoidHref = href+"/correct", href+"/void"
	}
	m.AgainHref, m.AgainLabel = m.TankHref+pageFood, m.T("food.title")
	m.Lines = append(sampleLines(m.P, sample), sampleFindings(m.P, season, sample.ID, s.today(season.Site, v.now))...)
	if m.Entered, err = s.entryHistory(r, &m, season, sample.ID, sample.Entry); err != nil {
		return err
	}
	if err := s.flagsNow(r.Context(), &m, season, sample.ChangedAt, v.now); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, view.EntryShowPage(m))
}

// changeableSample loads the sample of the address when it may still be changed.
func (s *Server) changeableSample(r *http.Request) (*logbook.Sample, *logbook.Season, error) {
	m, season, err := s.storedSample(r)
	if err == nil && m.Voided {
		err = logbook.Errorf(logbook.Conflict, "error.voided", nil)
	}
	return m, season, err
}

func (s *Server) sampleEdit(w http.ResponseWriter, r *http.Request) error {
	m, season, err := s.changeableSample(r)
	if err != nil {
		return err
	}
	f := newForm()
	for field, value := range sampleValues(s.inSite(visitOf(r), season.Site), m) {
		f.set(field, value)
	}
	f.set("revision", strconv.FormatInt(m.Revision, 10))
	return s.renderSampleEdit(w, r, http.StatusOK, m, season, f)
}

func (s *Server) renderSampleEdit(w http.ResponseWriter, r *http.Request, status int, have *logbook.Sample, season *logbook.Season, f *form) error {
	m := s.sampleForm(r, "sample.correct_title", season, f)
	href := "/samples/" + string(have.ID)
	m.Action, m.Submit, m.VoidHref = href+"/correct", m.T("check_form.correct_submit"), href+"/void"
	m.Reasons = reasonOptions(m.P)
	m.Hidden = append(m.Hidden, view.Option{Value: "revision", Label: f.text("revision")})
	m.Draft = "sample-correct:" + string(have.ID) + ":" + f.text("revision")
	return s.render(w, r, status, view.EventFormPage(m))
}

// sampleCorrect stores a correction. When somebody else changed the sample
// meanwhile, the form is shown again over what is stored now.
func (s *Server) sampleCorrect(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	have, season, err := s.changeableSample(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	if f.text("review") != "" {
		return s.renderSampleEdit(w, r, http.StatusOK, have, season, f)
	}
	m := readSample(f, season)
	m.ID = have.ID
	problems, err := s.judgeSample(r, &m, season, sampleConfirmed(f, &m, have))
	if err != nil {
		return err
	}
	f.add(problems)
	from, reason := f.revision(), formReason(f)
	if len(f.problems) > 0 {
		keepSampleConfirmed(f, &m)
		return s.renderSampleEdit(w, r, http.StatusUnprocessableEntity, have, season, f)
	}
	after, err := s.FlagsAfter(r.Context(), season, v.now)
	if err != nil {
		return err
	}
	saved, err := s.db.CorrectSample(r.Context(), v.actor, have.ID, from, m, reason, v.now, after)
	if cur := current[logbook.Sample](err); cur != nil {
		f.fail("on", "error.stale", nil)
		f.set("revision", strconv.FormatInt(cur.Revision, 10))
		return s.renderSampleEdit(w, r, http.StatusConflict, cur, season, f)
	}
	if err != nil {
		return err
	}
	key := "check_page.corrected"
	if saved.Repeated {
		key = "check_page.unchanged"
	}
	s.setNotice(r, v.p.T(key))
	http.Redirect(w, r, "/samples/"+string(have.ID), http.StatusSeeOther)
	return nil
}
