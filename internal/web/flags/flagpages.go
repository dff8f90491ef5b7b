package flags

import (
	"net/http"
	"slices"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// flagReadRoutes are the history of the flags of a tank, for everyone.
func (s *Service) flagReadRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/flags", s.Page(s.flagHistoryShow))
	r.Get("/seasons/{seasonID}/flags.csv", s.Page(s.flagHistoryCSV))
}

// flagRoutes are what keepers and coordinators do with flags.
func (s *Service) flagRoutes(r chi.Router) {
	r.Get("/flags", s.Page(s.flagList))
	r.Get("/flags.csv", s.Page(s.flagListCSV))
	r.Post("/flags/{flagID}/seen", s.Page(s.flagSee))
	r.Get("/flags/{flagID}/aside", s.Page(s.flagShelveShow))
	r.Post("/flags/{flagID}/aside", s.Page(s.flagShelve))
	r.Post("/flags/{flagID}/wake", s.Page(s.flagUnshelve))
	r.Get("/flags/{flagID}/finding", s.Page(s.flagFindingShow))
	r.Post("/flags/{flagID}/finding", s.Page(s.flagFinding))
}

// flagOf loads the flag of a request with its season, when the actor may see it.
func (s *Service) flagOf(r *http.Request) (store.Flag, *logbook.Season, error) {
	f, err := s.DB.Flag(r.Context(), logbook.ID(chi.URLParam(r, "flagID")))
	if err != nil {
		return f, nil, err
	}
	season, err := s.DB.LoadSeason(r.Context(), f.SeasonID)
	if err != nil {
		return f, nil, err
	}
	if !req.Of(r).Actor.MaySee(season.Site.ID) {
		return f, nil, logbook.Missing("flag")
	}
	return f, season, nil
}

// grown reports whether a flag is more urgent by now than on the page that a
// person saw. A form that does not say what it showed is taken at its word.
func grown(f *store.Flag, shown string) bool {
	was := rules.Kind(shown)
	return slices.Contains(rules.Kinds(), was) && rules.Kind(f.Kind).Order() < was.Order()
}

func (s *Service) flagSee(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	f, _, err := s.flagOf(r)
	if err != nil {
		return err
	}
	if grown(&f, r.PostFormValue("kind")) {
		return s.FlagDone(w, r, v.P.T("flag.grown"), f.SeasonID)
	}
	if f, err = s.DB.SeeFlag(r.Context(), v.Actor, f.ID, v.Now); err != nil {
		return err
	}
	return s.FlagDone(w, r, v.P.T("flag.seen_done", logbook.Args{"By": f.SeenBy}), f.SeasonID)
}

func (s *Service) flagUnshelve(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	f, _, err := s.flagOf(r)
	if err != nil {
		return err
	}
	if f, err = s.DB.UnshelveFlag(r.Context(), v.Actor, f.ID, v.Now); err != nil {
		return err
	}
	return s.FlagDone(w, r, v.P.T("flag.wake_done"), f.SeasonID)
}

func (s *Service) flagShelveShow(w http.ResponseWriter, r *http.Request) error {
	f, season, err := s.flagOf(r)
	if err != nil {
		return err
	}
	if !f.Open() {
		return logbook.Errorf(logbook.Conflict, "error.flag.cleared", nil)
	}
	today := s.Assess.Today(season.Site, req.Of(r).Now)
	m := s.flagShelveForm(r, &f, season, today)
	return s.Render(w, r, http.StatusOK, ui.FormPageView(m))
}

// flagShelveForm is the empty form of setting a flag aside.
func (s *Service) flagShelveForm(r *http.Request, f *store.Flag, season *logbook.Season, today civil.Date) ui.FormPage {
	v := req.Of(r)
	p := s.InSite(v, season.Site)
	latest := latestRest(f, today)
	back := ui.SeasonPath(season.ID)
	if asked := req.SafeNext(r.FormValue("back")); asked != "/" {
		back = asked
	}
	m := ui.FormPage{Page: s.NewPage(r, "flag.aside.title", "board"), Action: ui.FlagPath(f.ID, "/aside"),
		Submit: p.T("flag.aside.submit"), Cancel: back, Hidden: []ui.Option{{Value: "back", Label: back},
			{Value: "kind", Label: f.Kind}},
		Intro: season.Site.Name + ", " + season.Tank.Name + ": " + s.saidToday(r, p, f, season)}
	m.Items = []ui.FormItem{
		{Kind: ui.AreaItem, Field: ui.Field{Name: "reason", Label: p.T("flag.aside.reason"),
			Hint: p.T("flag.aside.reason_hint")}},
		{Kind: ui.TilesItem, Field: ui.Field{Name: "how", Label: p.T("flag.aside.how")}, Options: []ui.Option{
			{Value: "day", Label: p.T("flag.aside.day")},
			{Value: "once", Label: p.T("flag.aside.once", logbook.Args{"Latest": p.DateShort(latest)})}}},
		{Field: ui.Field{Name: "until", Label: p.T("flag.aside.until"), Width: "w-date",
			Hint: p.T("flag.aside.until_hint", logbook.Args{"Latest": latest.String()})}},
	}
	return m
}

func (s *Service) flagShelve(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	f, season, err := s.flagOf(r)
	if err != nil {
		return err
	}
	in, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	today := s.Assess.Today(season.Site, v.Now)
	if in.Text("review") != "" {
		m := s.flagShelveForm(r, &f, season, today)
		keepTyped(&m, in)
		return s.Render(w, r, http.StatusOK, ui.FormPageView(m))
	}
	a := readShelving(in, latestRest(&f, today), today)
	if grown(&f, in.Raw("kind")) {
		in.Fail("reason", "flag.grown", nil)
	}
	if len(in.Problems) > 0 {
		m := s.flagShelveForm(r, &f, season, today)
		m.Error = true
		keepTyped(&m, in)
		m.Problems = form.ShowProblems(v.P, in.Problems, asideLabel(v.P))
		return s.Render(w, r, http.StatusUnprocessableEntity, ui.FormPageView(m))
	}
	if f, err = s.DB.ShelveFlag(r.Context(), v.Actor, f.ID, a, v.Now); err != nil {
		return err
	}
	return s.FlagDone(w, r, v.P.T("flag.aside.done", logbook.Args{"Until": v.P.DateShort(f.ShelvedUntil)}), f.SeasonID)
}

// readShelving reads how long and why a flag is set aside. More than the rule
// allows is refused with the last day that it does.
func readShelving(in *form.Form, latest, today civil.Date) store.Aside {
	a := store.Aside{Reason: in.Text("reason"), Once: in.Raw("how") == "once", Until: latest}
	switch {
	case a.Reason == "":
		in.Fail("reason", "error.reason", nil)
	case len([]rune(a.Reason)) > logbook.MaxReason:
		in.Fail("reason", "entry.too_long", logbook.Args{"Max": logbook.MaxReason})
	}
	switch in.Raw("how") {
	case "once":
		return a
	case "day":
	case "":
		in.Fail("how", "choice.empty", nil)
		return a
	default:
		in.Fail("how", "choice.unknown", nil)
		return a
	}
	a.Until = in.Date("until")
	switch {
	case in.Has("until"):
	case a.Until.IsZero():
		in.Fail("until", "date.empty", nil)
	case a.Until.Before(today):
		in.Fail("until", "flag.aside.past", logbook.Args{"Today": today})
	case a.Until.After(latest):
		in.Fail("until", "flag.aside.too_long", logbook.Args{"Latest": latest})
	}
	return a
}

// keepTyped puts what was typed back into a form.
func keepTyped(m *ui.FormPage, in *form.Form) {
	for i := range m.Items {
		m.Items[i].Value = in.Raw(m.Items[i].Name)
	}
}

func asideLabel(p *i18n.Printer) func(string) string {
	return func(field string) string { return p.T("flag.aside." + field) }
}
