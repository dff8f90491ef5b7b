package web

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

// eventRoutes are what is done to a tank.
func (s *Server) eventRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/events/new", s.page(s.eventNew))
	r.Post("/seasons/{seasonID}/events", s.page(s.eventCreate))
	r.Get("/events/{eventID}", s.page(s.eventShow))
	r.Get("/events/{eventID}/correct", s.page(s.eventEdit))
	r.Post("/events/{eventID}/correct", s.page(s.eventCorrect))
	r.Get("/events/{eventID}/void", s.page(s.eventVoiding().ask(s)))
	r.Post("/events/{eventID}/void", s.page(s.eventVoiding().store(s)))
}

const routeEventCreate = "POST /seasons/{id}/events"

// eventNew asks what was done, then what that kind of event needs.
func (s *Server) eventNew(w http.ResponseWriter, r *http.Request) error {
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	kind := logbook.EventKind(r.URL.Query().Get("kind"))
	if !knownKind(kind) {
		return s.renderEventKinds(w, r, season)
	}
	today := s.today(season.Site, visitOf(r).now)
	f := newForm()
	f.set("kind", string(kind))
	f.set("on", today.String())
	if d, err := civil.Parse(r.URL.Query().Get("on")); err == nil {
		f.set("on", d.String())
	}
	f.set("key", string(logbook.NewID()))
	f.set("opened", today.String())
	return s.renderEventNew(w, r, http.StatusOK, season, f)
}

func (s *Server) renderEventKinds(w http.ResponseWriter, r *http.Request, season *logbook.Season) error {
	href := "/seasons/" + string(season.ID)
	m := view.EventKinds{Page: s.entryPage(r, "event_form.kinds_title", season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: href, DeliveryHref: href + "/deliveries/new"}
	for _, k := range logbook.EventKinds() {
		m.Kinds = append(m.Kinds, view.EventKindLink{Href: href + "/events/new?kind=" + string(k), Name: m.T(k.MessageKey()),
			Text: m.T("event_form.intro." + string(k))})
	}
	return s.render(w, r, http.StatusOK, view.EventKindsPage(m))
}

// eventForm fills the parts that new events and corrections share.
func (s *Server) eventForm(r *http.Request, titleKey string, season *logbook.Season, f *form) view.EventForm {
	kind := logbook.EventKind(f.text("kind"))
	s.splitDay(r, season, f)
	m := view.EventForm{Page: s.entryPage(r, titleKey, season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: "/seasons/" + string(season.ID), Kind: string(kind), Posted: r.Method == http.MethodPost, Values: map[string]string{}}
	m.Title = m.T(titleKey, logbook.Args{"Tank": season.Tank.Name, "Kind": kind})
	m.Intro = m.T("event_form.intro." + string(kind))
	for _, k := range eventCautions {
		if k == kind {
			m.Caution = m.T("event_form.caution." + string(kind))
		}
	}
	m.Days = dayTiles(m.P, s.today(season.Site, visitOf(r).now))
	for _, name := range []string{"on", "on_other", "reason", "reason_text"} {
		m.Values[name] = f.raw(name)
	}
	m.Needed = eventItems(m.P, eventNeeds[kind], f)
	m.More = eventItems(m.P, []string{"time", "note", "observer"}, f)
	m.Problems = showProblems(m.P, f.problems, func(field string) string { return eventLabel(m.P, field) })
	m.Error = len(f.problems) > 0
	return m
}

func (s *Server) renderEventNew(w http.ResponseWriter, r *http.Request, status int, season *logbook.Season, f *form) error {
	m := s.eventForm(r, "event_form.title", season, f)
	href := "/seasons/" + string(season.ID)
	m.Action, m.Submit, m.OtherKinds = href+"/events", m.T("event_form.submit"), href+"/events/new"
	m.WaitForm = m.OtherKinds + "?kind=" + m.Kind
	m.Draft = "event:" + m.Kind + ":" + string(season.ID) + ":" + f.text("opened")
	key := formKey(f.text("key"))
	if key == "" {
		key = string(logbook.NewID())
	}
	m.Hidden = []view.Option{{Value: "key", Label: key}, {Value: "opened", Label: f.text("opened")}}
	return s.render(w, r, status, view.EventFormPage(m))
}

// eventCreate stores an event, or shows the form again with what is wrong.
func (s *Server) eventCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	e := readEvent(f, season)
	if !knownKind(e.Kind) {
		return s.renderEventKinds(w, r, season)
	}
	print, err := fingerprint(e)
	if err != nil {
		return err
	}
	once := store.Once{Key: formKey(f.text("key")), Route: routeEventCreate, Fingerprint: print}
	// What was stored by a first tap must not be in the way of the second.
	answered, err := s.db.Answered(r.Context(), v.actor, once)
	if err != nil && !isMismatch(err) {
		return err
	}
	if !answered {
		f.add(e.Validate(season, s.today(season.Site, v.now)))
	}
	if len(f.problems) > 0 {
		return s.renderEventNew(w, r, http.StatusUnprocessableEntity, season, f)
	}
	after, err := s.FlagsAfter(r.Context(), season, v.now)
	if err != nil {
		return err
	}
	saved, err := s.db.CreateEvent(r.Context(), v.actor, e, v.now, store.Write{Once: once, After: releasedOnce(season, &e, after)})
	if isMismatch(err) {
		// The Back button and other values: an event has no day of its own to
		// tell whether that is a second one, so the person does.
		f.fail("on", "event_form.sent_before", nil)
		f.set("key", string(logbook.NewID()))
		return s.renderEventNew(w, r, http.StatusUnprocessableEntity, season, f)
	}
	if err != nil {
		return err
	}
	s.setNotice(r, v.p.T("event_page.saved", logbook.Args{"Tank": season.Tank.Name, "On": saved.Row.On, "Kind": saved.Row.Kind}))
	s.goOn(w, r, "/events/"+string(saved.Row.ID))
	return nil
}

// releasedOnce stops the second of two releases that are sent at the same moment,
// each without a word about the other.
func releasedOnce(seen *logbook.Season, e *logbook.Event, after store.After) store.After {
	if e.Kind != logbook.Released || e.Note != "" {
		return after
	}
	count := func(s *logbook.Season) (n int) {
		for i := range s.Events {
			if s.Events[i].Kind == logbook.Released {
				n++
			}
		}
		return n
	}
	return func(stored *logbook.Season, open []store.Flag) ([]store.FlagChange, error) {
		if count(stored) > count(seen)+1 {
			return nil, logbook.Errorf(logbook.Conflict, "release.meanwhile", nil)
		}
		return after(stored, open)
	}
}

// storedEvent loads the event of the address with its season, for an actor who may
// see it.
func (s *Server) storedEvent(r *http.Request) (*logbook.Event, *logbook.Season, error) {
	e, err := s.db.Event(r.Context(), logbook.ID(chi.URLParam(r, "eventID")))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.db.LoadSeason(r.Context(), e.SeasonID)
	if err != nil {
		return nil, nil, err
	}
	if !visitOf(r).actor.MaySee(season.Site.ID) {
		return nil, nil, logbook.Missing("event")
	}
	return &e, season, nil
}

// eventShow shows a stored event and what the log says now.
func (s *Server) eventShow(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	e, season, err := s.storedEvent(r)
	if err != nil {
		return err
	}
	href := "/events/" + string(e.ID)
	m := view.EntryShow{Page: s.entryPage(r, "event_page.title", season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: "/seasons/" + string(season.ID), Mark: eventMark(e)}
	if !e.Voided {
		m.CorrectHref, m.VoidHref = href+"/correct", href+"/void"
	}
	m.AgainHref, m.AgainLabel = m.TankHref+"/events/new", m.T("event_page.again")
	m.Lines = eventLines(m.P, e)
	m.Lines[0].Field = "" // the kind is not changed, the event is taken back
	if m.Entered, err = s.entryHistory(r, &m, season, e.ID, e.Entry); err != nil {
		return err
	}
	if err := s.flagsNow(r.Context(), &m, season, e.ChangedAt, v.now); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, view.EntryShowPage(m))
}
