package web

import (
	"net/http"
	"strconv"

	"reddside/internal/logbook"
	"reddside/internal/web/view"
)

// correctable loads the check of the address for somebody who may change it.
func (s *Server) correctable(r *http.Request) (*logbook.Check, *logbook.Season, error) {
	v := visitOf(r)
	c, season, err := s.storedCheck(r)
	if err != nil {
		return nil, nil, err
	}
	if !mayCorrect(v.actor, c, s.today(season.Site, v.now)) {
		return nil, nil, logbook.Errorf(logbook.Forbidden, "check_page.not_yours", nil)
	}
	if c.Voided {
		return nil, nil, logbook.Errorf(logbook.Conflict, "error.voided", nil)
	}
	return c, season, nil
}

// checkEdit shows the form filled with what is stored.
func (s *Server) checkEdit(w http.ResponseWriter, r *http.Request) error {
	c, season, err := s.correctable(r)
	if err != nil {
		return err
	}
	f := newForm()
	if err := s.fillFromCheck(r, f, c, season); err != nil {
		return err
	}
	f.set("revision", strconv.FormatInt(c.Revision, 10))
	return s.renderCheckEdit(w, r, http.StatusOK, c, season, f)
}

// fillFromCheck answers every question that f leaves open with what c says.
func (s *Server) fillFromCheck(r *http.Request, f *form, c *logbook.Check, season *logbook.Season) error {
	p := s.inSite(visitOf(r), season.Site)
	values := checkValues(p, c, season.Site.TemperatureUnit)
	if c.TAN.OK {
		kit, err := s.db.Kit(r.Context(), season.Site.ID)
		if err != nil {
			return err
		}
		values["tan_mg_l"] = typed(p, float64(kitFigure(c.TAN.V, kit.Basis)))
	}
	for field, value := range values {
		if f.text(field) == "" {
			f.set(field, value)
		}
	}
	return nil
}

func (s *Server) renderCheckEdit(w http.ResponseWriter, r *http.Request, status int, c *logbook.Check, season *logbook.Season, f *form) error {
	s.splitDay(r, season, f)
	m, err := s.checkForm(r, "check_form.correct_title", season, f)
	if err != nil {
		return err
	}
	href := "/checks/" + string(c.ID)
	m.Action, m.Submit, m.VoidHref = href+"/correct", m.T("check_form.correct_submit"), href+"/void"
	m.Intro = m.T("check_form.correct_intro")
	m.Reasons = reasonOptions(m.P)
	m.Hidden = append(m.Hidden, view.Option{Value: "revision", Label: f.text("revision")})
	m.Draft = "check-correct:" + string(c.ID) + ":" + f.text("revision")
	m.Posted = r.Method == http.MethodPost
	return s.render(w, r, status, view.CheckFormPage(m))
}

// splitDay puts a day that is neither today nor yesterday in the date field.
func (s *Server) splitDay(r *http.Request, season *logbook.Season, f *form) {
	on, today := f.text("on"), s.today(season.Site, visitOf(r).now)
	if on != "" && on != "other" && on != today.String() && on != today.AddDays(-1).String() {
		f.set("on", "other")
		f.set("on_other", on)
	}
}

// reviewJoined asks for the correction form with two checks in it: what was sent,
// and what is stored where nothing was sent.
const reviewJoined = "joined"

// checkCorrect stores a correction. With "review" it only shows the form with
// the values that were sent, as from the page that compares two checks. Two groups
// that looked at the same tank often answer different questions; there a blank
// answer must not wipe out the other group's.
func (s *Server) checkCorrect(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	have, season, err := s.correctable(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	if f.text("slot") == "" {
		f.set("slot", string(have.Slot))
	}
	if review := f.text("review"); review != "" {
		if review == reviewJoined {
			if err := s.fillFromCheck(r, f, have, season); err != nil {
				return err
			}
		}
		return s.renderCheckEdit(w, r, http.StatusOK, have, season, f)
	}
	c := readCheck(f, season)
	if err := s.readTAN(r, f, &c, season); err != nil {
		return err
	}
	validateCheck(f, &c, checkValidation{season: season, today: s.today(season.Site, v.now), replace: have})
	from := f.revision()
	reason := formReason(f)
	if len(f.problems) > 0 {
		keepConfirmed(f, &c)
		return s.renderCheckEdit(w, r, http.StatusUnprocessableEntity, have, season, f)
	}
	notFitted(&c, season.Tank)
	after, err := s.FlagsAfter(r.Context(), season, v.now)
	if err != nil {
		return err
	}
	saved, err := s.db.CorrectCheck(r.Context(), v.actor, have.ID, from, c, reason, v.now, after)
	switch cur := current[logbook.Check](err); {
	case cur != nil && cur.ID == have.ID:
		return s.renderCheckStale(w, r, season, cur, &c, f)
	case cur != nil:
		return s.renderCheckTaken(w, r, season, cur, &c, f)
	case err != nil:
		return err
	}
	key := "check_page.corrected"
	if saved.Repeated {
		key = "check_page.unchanged"
	}
	s.setNotice(r, v.p.T(key))
	http.Redirect(w, r, "/checks/"+string(have.ID), http.StatusSeeOther)
	return nil
}
