package entry

import (
	"net/http"

	"reddside/internal/civil"
	"reddside/internal/entries"
	"reddside/internal/logbook"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// renderCheckNew shows the form of a new check. Its values are those of f.
func (s *Service) renderCheckNew(w http.ResponseWriter, r *http.Request, status int, season *logbook.Season,
	f *form.Form, day civil.Date) error {
	m, err := s.checkForm(r, "check_form.title", season, f)
	if err != nil {
		return err
	}
	v := req.Of(r)
	id := string(season.ID)
	m.Action, m.Submit, m.Intro = ui.SeasonPath(id, "/checks"), m.T("check_form.submit"), m.T("check_form.intro")
	m.Posted, m.WaitForm = status != http.StatusOK, ui.SeasonPath(id, "/checks/new")
	m.Draft = "check:" + id + ":" + f.Text("opened")
	key := form.FormKey(f.Text("key"))
	if key == "" {
		key = string(logbook.NewID())
	}
	m.Hidden = append(m.Hidden, ui.Option{Value: "key", Label: key},
		ui.Option{Value: "opened", Label: f.Text("opened")}, ui.Option{Value: "slot_on", Label: f.Text("slot_on")})
	if have := words.CheckAt(season, day, logbook.Morning); have != nil {
		_, all := freeSlot(season, day)
		m.Taken = &ui.Taken{At: words.EnteredAt(m.P, season, have), By: words.EnteredBy(m.P, have),
			Href:      ui.CheckPath(have.ID),
			AlsoExtra: m.Slot != string(logbook.Morning), AllTaken: all}
		if entries.MayCorrect(v.Actor, have, s.Assess.Today(season.Site, v.Now)) {
			m.Taken.CorrectHref = m.Taken.Href + "/correct"
		}
	}
	return s.Render(w, r, status, CheckFormPage(m))
}

// checkForm fills the parts that new checks and corrections share.
func (s *Service) checkForm(r *http.Request, titleKey string, season *logbook.Season, f *form.Form) (ui.CheckForm,
	error) {
	v := req.Of(r)
	a, err := s.Assess.Assess(r.Context(), season, v.Now)
	if err != nil {
		return ui.CheckForm{}, err
	}
	m := ui.CheckForm{Page: s.EntryPage(r, titleKey, season), Tank: season.Tank.Name, Site: season.Site.Name,
		TankHref: ui.SeasonPath(season.ID), Slot: f.Text("slot"), Days: dayTiles(v.P, a.Today),
		OtherDay: f.Text("on_other"),
		Values:   map[string]string{}}
	m.Unit = m.P.UnitSymbol()
	for _, name := range append([]string{"reason", "reason_text", "all_running"}, words.CheckFields...) {
		m.Values[name] = f.Raw(name)
	}
	if slot := logbook.Slot(m.Slot); slot.Order() < 0 {
		m.Slot = string(logbook.Morning)
	} else if slot != logbook.Morning {
		m.SlotName = m.T(slot.MessageKey())
	}
	m.Equipment = []ui.CheckEquipment{{Name: "chiller", Fitted: season.Tank.HasChiller},
		{Name: "filter", Fitted: season.Tank.HasFilter},
		{Name: "air_pump", Fitted: season.Tank.HasAirPump}}
	for i, e := range m.Equipment {
		// An answer is never hidden, whatever the tank has by now.
		if x := m.Values[e.Name]; x != "" && x != string(logbook.NotFitted) {
			m.Equipment[i].Fitted = true
		}
	}
	if err := s.KitInForm(r, &m, season); err != nil {
		return ui.CheckForm{}, err
	}
	m.AskFor(a.Assessment.Stage.Stage)
	m.HatchingNow = a.Assessment.Situation.NearHatch
	sortCheckProblems(f.Problems)
	m.Problems = form.ShowProblems(m.P, f.Problems, words.CheckLabel(m.P))
	m.Problems.AskAbove()
	m.Error, m.Asked = len(f.Problems) > 0, f.Asked()
	for _, c := range f.Values["was_confirmed"] {
		m.Hidden = append(m.Hidden, ui.Option{Value: "was_confirmed", Label: c})
	}
	return m, nil
}

// keepConfirmed remembers, in a form that is shown again, which values were
// confirmed, so that nobody is asked twice about the same value.
func keepConfirmed(f *form.Form, fields []string) {
	f.Values.Del("was_confirmed")
	for _, field := range fields {
		f.Values.Add("was_confirmed", field+"="+f.Text(field))
	}
}
