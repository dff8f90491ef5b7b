package entry

import (
	"net/http"

	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// changeable loads the event of the address when it may still be changed.
func (s *Service) changeable(r *http.Request) (*logbook.Event, *logbook.Season, error) {
	e, season, err := s.storedEvent(r)
	if err == nil && e.Voided {
		err = logbook.Errorf(logbook.Conflict, "error.voided", nil)
	}
	return e, season, err
}

// eventEdit shows the form filled with what is stored.
func (s *Service) eventEdit(w http.ResponseWriter, r *http.Request) error {
	e, season, err := s.changeable(r)
	if err != nil {
		return err
	}
	f := form.Filled(s.InSite(req.Of(r), season.Site), logbook.EventFields(), season.Site.TemperatureUnit, e,
		e.Revision)
	return s.renderEventEdit(w, r, http.StatusOK, e, season, f)
}

func (s *Service) renderEventEdit(w http.ResponseWriter, r *http.Request, status int, e *logbook.Event,
	season *logbook.Season, f *form.Form) error {
	m := s.eventForm(r, "event_form.correct_title", season, f)
	href := ui.EventPath(e.ID)
	m.Action, m.Submit, m.VoidHref = href+"/correct", m.T("check_form.correct_submit"), href+"/void"
	m.Reasons = words.ReasonOptions(m.P)
	m.Hidden = []ui.Option{{Value: "revision", Label: f.Text("revision")}}
	m.Draft = "event-correct:" + string(e.ID) + ":" + f.Text("revision")
	return s.Render(w, r, status, EventFormPage(m))
}

// eventCorrect stores a correction. The kind stays: an event of another kind is
// another event.
func (s *Service) eventCorrect(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	have, season, err := s.changeable(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	f.Set("kind", string(have.Kind))
	if f.Text("review") != "" {
		return s.renderEventEdit(w, r, http.StatusOK, have, season, f)
	}
	e := readEvent(f, season)
	e.ID = have.ID
	from, reason := f.Revision(), form.FormReason(f)
	saved, err := s.Entries.Events().Correct(r.Context(), req.Sent(r, season, f), have, &e, from, reason)
	if f.Refused(err); len(f.Problems) > 0 {
		return s.renderEventEdit(w, r, http.StatusUnprocessableEntity, have, season, f)
	}
	if cur := entries.Current[logbook.Event](err); cur != nil {
		return s.renderEventStale(w, r, season, cur, &e, f)
	}
	if err != nil {
		return err
	}
	key := "check_page.corrected"
	if saved.Repeated {
		key = "check_page.unchanged"
	}
	s.SetNotice(r, v.P.T(key))
	http.Redirect(w, r, ui.EventPath(have.ID), http.StatusSeeOther)
	return nil
}

// renderEventStale shows a correction beside what somebody else stored.
func (s *Service) renderEventStale(w http.ResponseWriter, r *http.Request, season *logbook.Season, have,
	sent *logbook.Event, f *form.Form) error {
	m := EntryCompare{Page: s.EntryPage(r, "check_compare.stale_title", season), Tank: season.Tank.Name,
		Site:     season.Site.Name,
		TankHref: ui.SeasonPath(season.ID), Action: ui.EventPath(have.ID, "/correct")}
	m.Error = true
	m.Intro = staleIntro(m.Page, season, have.Entry)
	for _, field := range words.EventFields {
		a, b := words.EventText(m.P, have, field), words.EventText(m.P, sent, field)
		if a != "" || b != "" {
			m.Rows = append(m.Rows, CompareRow{Label: words.EventLabel(m.P, field), Stored: a, Sent: b,
				Differs: a != b})
		}
		if x := f.Raw(field); x != "" && field != "on" {
			m.Hidden = append(m.Hidden, ui.Option{Value: field, Label: x})
		}
	}
	m.Hidden = append(m.Hidden, ui.Option{Value: "on", Label: sent.On.String()}, form.RevisionField(have.Revision),
		ui.Option{Value: "reason", Label: f.Text("reason")},
		ui.Option{Value: "reason_text", Label: f.Text("reason_text")})
	m.Buttons = []CompareButton{{Label: m.T("compare.use_mine")}, {Label: m.T("compare.look_again"), Name: "review",
		Value: "1"}}
	m.Links = []ui.Option{{Value: ui.EventPath(have.ID), Label: m.T("compare.keep_stored")}}
	return s.Render(w, r, http.StatusConflict, EntryComparePage(m))
}
