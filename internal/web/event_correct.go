package web

import (
	"net/http"
	"strconv"

	"reddside/internal/logbook"
	"reddside/internal/web/view"
)

// changeable loads the event of the address when it may still be changed.
func (s *Server) changeable(r *http.Request) (*logbook.Event, *logbook.Season, error) {
	e, season, err := s.storedEvent(r)
	if err == nil && e.Voided {
		err = logbook.Errorf(logbook.Conflict, "error.voided", nil)
	}
	return e, season, err
}

// eventEdit shows the form filled with what is stored.
func (s *Server) eventEdit(w http.ResponseWriter, r *http.Request) error {
	e, season, err := s.changeable(r)
	if err != nil {
		return err
	}
	f := newForm()
	for field, value := range eventValues(s.inSite(visitOf(r), season.Site), e) {
		f.set(field, value)
	}
	f.set("revision", strconv.FormatInt(e.Revision, 10))
	return s.renderEventEdit(w, r, http.StatusOK, e, season, f)
}

func (s *Server) renderEventEdit(w http.ResponseWriter, r *http.Request, status int, e *logbook.Event, season *logbook.Season, f *form) error {
	m := s.eventForm(r, "event_form.correct_title", season, f)
	href := "/events/" + string(e.ID)
	m.Action, m.Submit, m.VoidHref = href+"/correct", m.T("check_form.correct_submit"), href+"/void"
	m.Reasons = reasonOptions(m.P)
	m.Hidden = []view.Option{{Value: "revision", Label: f.text("revision")}}
	m.Draft = "event-correct:" + string(e.ID) + ":" + f.text("revision")
	return s.render(w, r, status, view.EventFormPage(m))
}

// eventCorrect stores a correction. The kind stays: an event of another kind is
// another event.
func (s *Server) eventCorrect(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	have, season, err := s.changeable(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	f.set("kind", string(have.Kind))
	if f.text("review") != "" {
		return s.renderEventEdit(w, r, http.StatusOK, have, season, f)
	}
	e := readEvent(f, season)
	e.ID = have.ID
	f.add(e.Validate(season, s.today(season.Site, v.now)))
	from, reason := f.revision(), formReason(f)
	if len(f.problems) > 0 {
		return s.renderEventEdit(w, r, http.StatusUnprocessableEntity, have, season, f)
	}
	after, err := s.FlagsAfter(r.Context(), season, v.now)
	if err != nil {
		return err
	}
	saved, err := s.db.CorrectEvent(r.Context(), v.actor, have.ID, from, e, reason, v.now, after)
	if cur := current[logbook.Event](err); cur != nil {
		return s.renderEventStale(w, r, season, cur, &e, f)
	}
	if err != nil {
		return err
	}
	key := "check_page.corrected"
	if saved.Repeated {
		key = "check_page.unchanged"
	}
	s.setNotice(r, v.p.T(key))
	http.Redirect(w, r, "/events/"+string(have.ID), http.StatusSeeOther)
	return nil
}

// renderEventStale shows a correction beside what somebody else stored.
func (s *Server) renderEventStale(w http.ResponseWriter, r *http.Request, season *logbook.Season, have, sent *logbook.Event, f *form) error {
	m := view.EntryCompare{Page: s.entryPage(r, "check_compare.stale_title", season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: "/seasons/" + string(season.ID), Action: "/events/" + string(have.ID) + "/correct"}
	m.Error = true
	m.Intro = staleIntro(m.Page, season, have.Entry)
	for _, field := range eventFields {
		a, b := eventText(m.P, have, field), eventText(m.P, sent, field)
		if a != "" || b != "" {
			m.Rows = append(m.Rows, view.CompareRow{Label: eventLabel(m.P, field), Stored: a, Sent: b, Differs: a != b})
		}
		if x := f.raw(field); x != "" && field != "on" {
			m.Hidden = append(m.Hidden, view.Option{Value: field, Label: x})
		}
	}
	m.Hidden = append(m.Hidden, view.Option{Value: "on", Label: sent.On.String()}, revisionField(have.Revision),
		view.Option{Value: "reason", Label: f.text("reason")}, view.Option{Value: "reason_text", Label: f.text("reason_text")})
	m.Buttons = []view.CompareButton{{Label: m.T("compare.use_mine")}, {Label: m.T("compare.look_again"), Name: "review", Value: "1"}}
	m.Links = []view.Option{{Value: "/events/" + string(have.ID), Label: m.T("compare.keep_stored")}}
	return s.render(w, r, http.StatusConflict, view.EntryComparePage(m))
}
