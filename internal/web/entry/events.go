package entry

import (
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/water"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// eventRoutes are what is done to a tank.
func (s *Service) eventRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/events/new", s.Page(s.eventNew))
	r.Post("/seasons/{seasonID}/events", s.Page(s.eventCreate))
	r.Get("/events/{eventID}", s.Page(s.eventShow))
	r.Get("/events/{eventID}/correct", s.Page(s.eventEdit))
	r.Post("/events/{eventID}/correct", s.Page(s.eventCorrect))
	r.Get("/events/{eventID}/void", s.Page(s.eventVoiding().ask(s)))
	r.Post("/events/{eventID}/void", s.Page(s.eventVoiding().store(s)))
	r.Get("/deliveries/{deliveryID}/void", s.Page(s.deliveryVoiding().ask(s)))
	r.Post("/deliveries/{deliveryID}/void", s.Page(s.deliveryVoiding().store(s)))
}

// eventNew asks what was done, then what that kind of event needs.
func (s *Service) eventNew(w http.ResponseWriter, r *http.Request) error {
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	kind := logbook.EventKind(r.URL.Query().Get("kind"))
	if !knownKind(kind) {
		return s.renderEventKinds(w, r, season)
	}
	today := s.Assess.Today(season.Site, req.Of(r).Now)
	f := form.NewForm()
	f.Set("kind", string(kind))
	f.Set("on", today.String())
	if d, err := civil.Parse(r.URL.Query().Get("on")); err == nil {
		f.Set("on", d.String())
	}
	f.Set("key", string(logbook.NewID()))
	f.Set("opened", today.String())
	return s.renderEventNew(w, r, http.StatusOK, season, f)
}

func (s *Service) renderEventKinds(w http.ResponseWriter, r *http.Request, season *logbook.Season) error {
	href := ui.SeasonPath(season.ID)
	m := EventKinds{Page: s.EntryPage(r, "event_form.kinds_title", season), Tank: season.Tank.Name,
		Site:     season.Site.Name,
		TankHref: href, DeliveryHref: href + "/deliveries/new"}
	for _, k := range logbook.EventKinds() {
		m.Kinds = append(m.Kinds, EventKindLink{Href: href + "/events/new?kind=" + string(k), Name: m.T(k.MessageKey()),
			Text: m.T("event_form.intro." + string(k))})
	}
	return s.Render(w, r, http.StatusOK, EventKindsPage(m))
}

// eventForm fills the parts that new events and corrections share.
func (s *Service) eventForm(r *http.Request, titleKey string, season *logbook.Season, f *form.Form) EventForm {
	kind := logbook.EventKind(f.Text("kind"))
	s.splitDay(r, season, f)
	m := EventForm{Page: s.EntryPage(r, titleKey, season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: ui.SeasonPath(season.ID), Kind: string(kind), Posted: r.Method == http.MethodPost,
		Values: map[string]string{}}
	m.Title = m.T(titleKey, logbook.Args{"Tank": season.Tank.Name, "Kind": kind})
	m.Intro = m.T("event_form.intro." + string(kind))
	for _, k := range eventCautions {
		if k == kind {
			m.Caution = m.P.T("event_form.caution."+string(kind), logbook.Args{"Near": water.NewWaterNear})
		}
	}
	m.Days = dayTiles(m.P, s.Assess.Today(season.Site, req.Of(r).Now))
	for _, name := range []string{"on", "on_other", "reason", "reason_text"} {
		m.Values[name] = f.Raw(name)
	}
	m.Needed = eventItems(m.P, eventNeeds[kind], f)
	m.More = eventItems(m.P, []string{"time", "note", "observer"}, f)
	m.Problems = form.ShowProblems(m.P, f.Problems, func(field string) string { return words.EventLabel(m.P, field) })
	m.Error = len(f.Problems) > 0
	return m
}

func (s *Service) renderEventNew(w http.ResponseWriter, r *http.Request, status int, season *logbook.Season,
	f *form.Form) error {
	m := s.eventForm(r, "event_form.title", season, f)
	href := ui.SeasonPath(season.ID)
	m.Action, m.Submit, m.OtherKinds = href+"/events", m.T("event_form.submit"), href+"/events/new"
	m.WaitForm = m.OtherKinds + "?kind=" + m.Kind
	m.Draft = "event:" + m.Kind + ":" + string(season.ID) + ":" + f.Text("opened")
	key := form.FormKey(f.Text("key"))
	if key == "" {
		key = string(logbook.NewID())
	}
	m.Hidden = []ui.Option{{Value: "key", Label: key}, {Value: "opened", Label: f.Text("opened")}}
	return s.Render(w, r, status, EventFormPage(m))
}

// eventCreate stores an event, or shows the form again with what is wrong.
func (s *Service) eventCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	e := readEvent(f, season)
	if !knownKind(e.Kind) {
		return s.renderEventKinds(w, r, season)
	}
	saved, err := s.Entries.Events().New(r.Context(), req.Sent(r, season, f), &e)
	if entries.IsMismatch(err) {
		// The Back button and other values: an event has no day of its own to
		// tell whether that is a second one, so the person does.
		f.Fail("on", "event_form.sent_before", nil)
		f.Set("key", string(logbook.NewID()))
	}
	if f.Refused(err); len(f.Problems) > 0 {
		return s.renderEventNew(w, r, http.StatusUnprocessableEntity, season, f)
	}
	if err != nil {
		return err
	}
	s.SetNotice(r, v.P.T("event_page.saved", logbook.Args{"Tank": season.Tank.Name, "On": saved.Row.On,
		"Kind": saved.Row.Kind}))
	s.goOn(w, r, ui.EventPath(saved.Row.ID))
	return nil
}

// storedEvent loads the event of the address with its season, for an actor who may
// see it.
func (s *Service) storedEvent(r *http.Request) (*logbook.Event, *logbook.Season, error) {
	e, err := s.DB.Event(r.Context(), logbook.ID(chi.URLParam(r, "eventID")))
	if err != nil {
		return nil, nil, err
	}
	season, err := s.DB.LoadSeason(r.Context(), e.SeasonID)
	if err != nil {
		return nil, nil, err
	}
	if !req.Of(r).Actor.MaySee(season.Site.ID) {
		return nil, nil, logbook.Missing("event")
	}
	return &e, season, nil
}

// eventShow shows a stored event and what the log says now.
func (s *Service) eventShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	e, season, err := s.storedEvent(r)
	if err != nil {
		return err
	}
	href := ui.EventPath(e.ID)
	m := EntryShow{Page: s.EntryPage(r, "event_page.title", season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: ui.SeasonPath(season.ID), Mark: words.EventMark(e)}
	if !e.Voided {
		m.CorrectHref, m.VoidHref = href+"/correct", href+"/void"
	}
	m.AgainHref, m.AgainLabel = m.TankHref+"/events/new", m.T("event_page.again")
	m.Lines = eventLines(m.P, e)
	m.Lines[0].Field = "" // the kind is not changed, the event is taken back
	if m.Entered, err = s.entryHistory(r, &m, season, e.ID, e.Entry); err != nil {
		return err
	}
	if err := s.flagsNow(r.Context(), &m, season, e.ChangedAt, v.Now); err != nil {
		return err
	}
	return s.Render(w, r, http.StatusOK, EntryShowPage(m))
}
