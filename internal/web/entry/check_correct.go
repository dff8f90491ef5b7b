package entry

import (
	"net/http"
	"strconv"

	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// correctable loads the check of the address for somebody who may change it.
func (s *Service) correctable(r *http.Request) (*logbook.Check, *logbook.Season, error) {
	v := req.Of(r)
	c, season, err := s.storedCheck(r)
	if err != nil {
		return nil, nil, err
	}
	if !entries.MayCorrect(v.Actor, c, s.Assess.Today(season.Site, v.Now)) {
		return nil, nil, logbook.Errorf(logbook.Forbidden, "check_page.not_yours", nil)
	}
	if c.Voided {
		return nil, nil, logbook.Errorf(logbook.Conflict, "error.voided", nil)
	}
	return c, season, nil
}

// checkEdit shows the form filled with what is stored.
func (s *Service) checkEdit(w http.ResponseWriter, r *http.Request) error {
	c, season, err := s.correctable(r)
	if err != nil {
		return err
	}
	f := form.NewForm()
	if err := s.fillFromCheck(r, f, c, season); err != nil {
		return err
	}
	f.Set("revision", strconv.FormatInt(c.Revision, 10))
	return s.renderCheckEdit(w, r, http.StatusOK, c, season, f)
}

// fillFromCheck answers every question that f leaves open with what c says.
func (s *Service) fillFromCheck(r *http.Request, f *form.Form, c *logbook.Check, season *logbook.Season) error {
	p := s.InSite(req.Of(r), season.Site)
	values := form.Values(p, logbook.CheckFields(), season.Site.TemperatureUnit, c)
	if c.TAN.OK {
		kit, err := s.DB.Kit(r.Context(), season.Site.ID)
		if err != nil {
			return err
		}
		values["tan_mg_l"] = words.Typed(p, float64(words.KitFigure(c.TAN.V, kit.Basis)))
	}
	for field, value := range values {
		if f.Text(field) == "" {
			f.Set(field, value)
		}
	}
	return nil
}

func (s *Service) renderCheckEdit(w http.ResponseWriter, r *http.Request, status int, c *logbook.Check,
	season *logbook.Season, f *form.Form) error {
	s.splitDay(r, season, f)
	m, err := s.checkForm(r, "check_form.correct_title", season, f)
	if err != nil {
		return err
	}
	href := ui.CheckPath(c.ID)
	m.Action, m.Submit, m.VoidHref = href+"/correct", m.T("check_form.correct_submit"), href+"/void"
	m.Intro = m.T("check_form.correct_intro")
	m.Reasons = words.ReasonOptions(m.P)
	m.Hidden = append(m.Hidden, ui.Option{Value: "revision", Label: f.Text("revision")})
	m.Draft = "check-correct:" + string(c.ID) + ":" + f.Text("revision")
	m.Posted = r.Method == http.MethodPost
	return s.Render(w, r, status, CheckFormPage(m))
}

// splitDay puts a day that is neither today nor yesterday in the date field.
func (s *Service) splitDay(r *http.Request, season *logbook.Season, f *form.Form) {
	on, today := f.Text("on"), s.Assess.Today(season.Site, req.Of(r).Now)
	if on != "" && on != "other" && on != today.String() && on != today.AddDays(-1).String() {
		f.Set("on", "other")
		f.Set("on_other", on)
	}
}

// reviewJoined asks for the correction form with two checks in it: what was sent,
// and what is stored where nothing was sent.
const reviewJoined = "joined"

// checkCorrect stores a correction. With "review" it only shows the form with
// the values that were sent, as from the page that compares two checks. Two groups
// that looked at the same tank often answer different questions; there a blank
// answer must not wipe out the other group's.
func (s *Service) checkCorrect(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	have, season, err := s.correctable(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	if f.Text("slot") == "" {
		f.Set("slot", string(have.Slot))
	}
	if review := f.Text("review"); review != "" {
		if review == reviewJoined {
			if err := s.fillFromCheck(r, f, have, season); err != nil {
				return err
			}
		}
		return s.renderCheckEdit(w, r, http.StatusOK, have, season, f)
	}
	c := readCheck(f, season)
	if err := s.ReadTAN(r, f, &c, season); err != nil {
		return err
	}
	from, reason := f.Revision(), form.FormReason(f)
	saved, err := s.Entries.Checks().Correct(r.Context(), req.Sent(r, season, f), have, &c, from, reason)
	if f.Refused(err); len(f.Problems) > 0 {
		keepConfirmed(f, c.Confirmed)
		return s.renderCheckEdit(w, r, http.StatusUnprocessableEntity, have, season, f)
	}
	switch cur := entries.Current[logbook.Check](err); {
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
	s.SetNotice(r, v.P.T(key))
	http.Redirect(w, r, ui.CheckPath(have.ID), http.StatusSeeOther)
	return nil
}
