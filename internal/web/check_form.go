package web

import (
	"net/http"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/view"
)

// checkStyles are the styles of pages of checks and events.
var checkStyles = []string{"pieces.css", "check.css"}

// entryPage starts a page about a tank, in the unit of its site.
func (s *Server) entryPage(r *http.Request, titleKey string, season *logbook.Season) view.Page {
	v := visitOf(r)
	p := s.newPage(r, titleKey, "board")
	p.P = s.inSite(v, season.Site)
	p.Title = p.T(titleKey, logbook.Args{"Tank": season.Tank.Name})
	p.Styles = checkStyles
	return p
}

// renderCheckNew shows the form of a new check. Its values are those of f.
func (s *Server) renderCheckNew(w http.ResponseWriter, r *http.Request, status int, season *logbook.Season, f *form, day civil.Date) error {
	m, err := s.checkForm(r, "check_form.title", season, f)
	if err != nil {
		return err
	}
	v := visitOf(r)
	id := string(season.ID)
	m.Action, m.Submit, m.Intro = "/seasons/"+id+"/checks", m.T("check_form.submit"), m.T("check_form.intro")
	m.Posted, m.WaitForm = status != http.StatusOK, "/seasons/"+id+"/checks/new"
	m.Draft = "check:" + id + ":" + f.text("opened")
	key := formKey(f.text("key"))
	if key == "" {
		key = string(logbook.NewID())
	}
	m.Hidden = append(m.Hidden, view.Option{Value: "key", Label: key}, view.Option{Value: "opened", Label: f.text("opened")})
	if have := checkAt(season, day, logbook.Morning); have != nil {
		_, all := freeSlot(season, day)
		m.Taken = &view.Taken{At: enteredAt(m.P, season, have), By: enteredBy(m.P, have), Href: "/checks/" + string(have.ID),
			AlsoExtra: m.Slot != string(logbook.Morning), AllTaken: all}
		if mayCorrect(v.actor, have, s.today(season.Site, v.now)) {
			m.Taken.CorrectHref = m.Taken.Href + "/correct"
		}
	}
	return s.render(w, r, status, view.CheckFormPage(m))
}

// checkForm fills the parts that new checks and corrections share.
func (s *Server) checkForm(r *http.Request, titleKey string, season *logbook.Season, f *form) (view.CheckForm, error) {
	v := visitOf(r)
	a, err := s.assess(r.Context(), season, v.now)
	if err != nil {
		return view.CheckForm{}, err
	}
	m := view.CheckForm{Page: s.entryPage(r, titleKey, season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: "/seasons/" + string(season.ID), Slot: f.text("slot"), Days: dayTiles(v.p, a.Today), OtherDay: f.text("on_other"),
		Values: map[string]string{}}
	m.Unit = m.P.UnitSymbol()
	for _, name := range append([]string{"reason", "reason_text"}, checkFields...) {
		m.Values[name] = f.raw(name)
	}
	if slot := logbook.Slot(m.Slot); slot.Order() < 0 {
		m.Slot = string(logbook.Morning)
	} else if slot != logbook.Morning {
		m.SlotName = m.T(slot.MessageKey())
	}
	m.Equipment = []view.CheckEquipment{{Name: "chiller", Fitted: season.Tank.HasChiller}, {Name: "filter", Fitted: season.Tank.HasFilter},
		{Name: "air_pump", Fitted: season.Tank.HasAirPump}}
	for i, e := range m.Equipment {
		// An answer is never hidden, whatever the tank has by now.
		if x := m.Values[e.Name]; x != "" && x != string(logbook.NotFitted) {
			m.Equipment[i].Fitted = true
		}
	}
	if err := s.kitInForm(r, &m, season); err != nil {
		return view.CheckForm{}, err
	}
	m.AskFor(a.Assessment.Stage.Stage)
	sortCheckProblems(f.problems)
	m.Problems = showProblems(m.P, f.problems, checkLabel(m.P))
	m.Error = len(f.problems) > 0
	for _, c := range f.values["was_confirmed"] {
		m.Hidden = append(m.Hidden, view.Option{Value: "was_confirmed", Label: c})
	}
	return m, nil
}

func checkLabel(p *i18n.Printer) func(field string) string {
	return func(field string) string {
		return view.CheckFieldLabel(view.Page{P: p}, field, p.UnitSymbol())
	}
}

// keepConfirmed remembers, in a form that is shown again, which values were
// confirmed, so that nobody is asked twice about the same value.
func keepConfirmed(f *form, c *logbook.Check) {
	f.values.Del("was_confirmed")
	for _, field := range c.Confirmed {
		f.values.Add("was_confirmed", field+"="+f.text(field))
	}
}

// enteredAt is the time of day at which a check was made or first stored.
func enteredAt(p *i18n.Printer, s *logbook.Season, c *logbook.Check) string {
	if c.Time != "" {
		return c.Time
	}
	loc := s.Site.Location()
	if civil.In(c.ReceivedAt, loc) == c.On {
		return p.Clock(c.ReceivedAt, loc)
	}
	return p.When(c.ReceivedAt, loc)
}

// enteredBy names the group, or else the role, that made a check.
func enteredBy(p *i18n.Printer, c *logbook.Check) string {
	if c.Observer != "" {
		return c.Observer
	}
	return byRole(p, c.Entry)
}

func byRole(p *i18n.Printer, e logbook.Entry) string {
	if e.ByLabel != "" {
		return e.ByLabel
	}
	return word(p, e.By)
}
