package web

import (
	"net/http"
	"slices"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

// flagReadRoutes are the history of the flags of a tank, for everyone.
func (s *Server) flagReadRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/flags", s.page(s.flagHistoryShow))
	r.Get("/seasons/{seasonID}/flags.csv", s.page(s.flagHistoryCSV))
}

// flagRoutes are what keepers and coordinators do with flags.
func (s *Server) flagRoutes(r chi.Router) {
	r.Get("/flags", s.page(s.flagList))
	r.Get("/flags.csv", s.page(s.flagListCSV))
	r.Post("/flags/{flagID}/seen", s.page(s.flagSee))
	r.Get("/flags/{flagID}/aside", s.page(s.flagAsideShow))
	r.Post("/flags/{flagID}/aside", s.page(s.flagAside))
	r.Post("/flags/{flagID}/wake", s.page(s.flagWake))
	r.Get("/flags/{flagID}/finding", s.page(s.flagFindingShow))
	r.Post("/flags/{flagID}/finding", s.page(s.flagFinding))
	r.Post("/seasons/{seasonID}/flags/seen", s.page(s.flagSeeEnded))
}

// flagOf loads the flag of a request with its season, when the actor may see it.
func (s *Server) flagOf(r *http.Request) (store.Flag, *logbook.Season, error) {
	f, err := s.db.Flag(r.Context(), logbook.ID(chi.URLParam(r, "flagID")))
	if err != nil {
		return f, nil, err
	}
	season, err := s.db.LoadSeason(r.Context(), f.SeasonID)
	if err != nil {
		return f, nil, err
	}
	if !visitOf(r).actor.MaySee(season.Site.ID) {
		return f, nil, logbook.Missing("flag")
	}
	return f, season, nil
}

// flagDone says what was done and leads back to where the person came from.
func (s *Server) flagDone(w http.ResponseWriter, r *http.Request, notice string, season logbook.ID) error {
	s.sessions.Put(r.Context(), keyNotice, notice)
	back := safeNext(r.PostFormValue("back"))
	if back == "/" {
		back = "/seasons/" + string(season)
	}
	http.Redirect(w, r, back, http.StatusSeeOther)
	return nil
}

// grown reports whether a flag is more urgent by now than on the page that a
// person saw. A form that does not say what it showed is taken at its word.
func grown(f *store.Flag, shown string) bool {
	was := rules.Kind(shown)
	return slices.Contains(rules.Kinds(), was) && rules.Kind(f.Kind).Order() < was.Order()
}

func (s *Server) flagSee(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	f, _, err := s.flagOf(r)
	if err != nil {
		return err
	}
	if grown(&f, r.PostFormValue("kind")) {
		return s.flagDone(w, r, v.p.T("flag.grown"), f.SeasonID)
	}
	if f, err = s.db.SeeFlag(r.Context(), v.actor, f.ID, v.now); err != nil {
		return err
	}
	return s.flagDone(w, r, v.p.T("flag.seen_done", logbook.Args{"By": f.SeenBy}), f.SeasonID)
}

// flagSeeEnded notes that all flags of a season that ended unseen are seen.
func (s *Server) flagSeeEnded(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	season, err := s.seasonOf(r)
	if err != nil {
		return err
	}
	n, err := s.db.SeeEndedFlags(r.Context(), v.actor, season.ID, v.now)
	if err != nil {
		return err
	}
	return s.flagDone(w, r, v.p.T("flag.seen_ended_done", logbook.Args{"Count": n}), season.ID)
}

func (s *Server) flagWake(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	f, _, err := s.flagOf(r)
	if err != nil {
		return err
	}
	if f, err = s.db.EndFlagAside(r.Context(), v.actor, f.ID, v.now); err != nil {
		return err
	}
	return s.flagDone(w, r, v.p.T("flag.wake_done"), f.SeasonID)
}

func (s *Server) flagAsideShow(w http.ResponseWriter, r *http.Request) error {
	f, season, err := s.flagOf(r)
	if err != nil {
		return err
	}
	if !f.Open() {
		return logbook.Errorf(logbook.Conflict, "error.flag.cleared", nil)
	}
	today := s.today(season.Site, visitOf(r).now)
	m := s.flagAsideForm(r, &f, season, today)
	return s.render(w, r, http.StatusOK, view.FormPageView(m))
}

// flagAsideForm is the empty form of setting a flag aside.
func (s *Server) flagAsideForm(r *http.Request, f *store.Flag, season *logbook.Season, today civil.Date) view.FormPage {
	v := visitOf(r)
	p := s.inSite(v, season.Site)
	latest := latestRest(f, today)
	back := "/seasons/" + string(season.ID)
	if asked := safeNext(r.FormValue("back")); asked != "/" {
		back = asked
	}
	m := view.FormPage{Page: s.newPage(r, "flag.aside.title", "board"), Action: "/flags/" + string(f.ID) + "/aside",
		Submit: p.T("flag.aside.submit"), Cancel: back, Hidden: []view.Option{{Value: "back", Label: back}, {Value: "kind", Label: f.Kind}},
		Intro: season.Site.Name + ", " + season.Tank.Name + ": " + saidThen(p, f.Rule, f.Args)}
	m.Items = []view.FormItem{
		{Kind: view.AreaItem, Field: view.Field{Name: "reason", Label: p.T("flag.aside.reason"), Hint: p.T("flag.aside.reason_hint")}},
		{Kind: view.TilesItem, Field: view.Field{Name: "how", Label: p.T("flag.aside.how")}, Options: []view.Option{
			{Value: "day", Label: p.T("flag.aside.day")}, {Value: "once", Label: p.T("flag.aside.once", logbook.Args{"Latest": p.DateShort(latest)})}}},
		{Field: view.Field{Name: "until", Label: p.T("flag.aside.until"), Width: "w-date",
			Hint: p.T("flag.aside.until_hint", logbook.Args{"Latest": latest.String()})}},
	}
	return m
}

func (s *Server) flagAside(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	f, season, err := s.flagOf(r)
	if err != nil {
		return err
	}
	in, err := readForm(r)
	if err != nil {
		return err
	}
	today := s.today(season.Site, v.now)
	if in.text("review") != "" {
		m := s.flagAsideForm(r, &f, season, today)
		keepTyped(&m, in)
		return s.render(w, r, http.StatusOK, view.FormPageView(m))
	}
	a := readAside(in, latestRest(&f, today), today)
	if grown(&f, in.raw("kind")) {
		in.fail("reason", "flag.grown", nil)
	}
	if len(in.problems) > 0 {
		m := s.flagAsideForm(r, &f, season, today)
		m.Error = true
		keepTyped(&m, in)
		m.Problems = showProblems(v.p, in.problems, asideLabel(v.p))
		return s.render(w, r, http.StatusUnprocessableEntity, view.FormPageView(m))
	}
	if f, err = s.db.SetFlagAside(r.Context(), v.actor, f.ID, a, v.now); err != nil {
		return err
	}
	return s.flagDone(w, r, v.p.T("flag.aside.done", logbook.Args{"Until": v.p.DateShort(f.SetAsideUntil)}), f.SeasonID)
}

// readAside reads how long and why a flag is set aside. More than the rule
// allows is refused with the last day that it does.
func readAside(in *form, latest, today civil.Date) store.Aside {
	a := store.Aside{Reason: in.text("reason"), Once: in.raw("how") == "once", Until: latest}
	switch {
	case a.Reason == "":
		in.fail("reason", "error.reason", nil)
	case len([]rune(a.Reason)) > maxReason:
		in.fail("reason", "entry.too_long", logbook.Args{"Max": maxReason})
	}
	switch in.raw("how") {
	case "once":
		return a
	case "day":
	case "":
		in.fail("how", "choice.empty", nil)
		return a
	default:
		in.fail("how", "choice.unknown", nil)
		return a
	}
	a.Until = in.date("until")
	switch {
	case in.has("until"):
	case a.Until.IsZero():
		in.fail("until", "date.empty", nil)
	case a.Until.Before(today):
		in.fail("until", "flag.aside.past", logbook.Args{"Today": today})
	case a.Until.After(latest):
		in.fail("until", "flag.aside.too_long", logbook.Args{"Latest": latest})
	}
	return a
}

// maxReason is the longest reason, in characters.
const maxReason = 300

// keepTyped puts what was typed back into a form.
func keepTyped(m *view.FormPage, in *form) {
	for i := range m.Items {
		m.Items[i].Value = in.raw(m.Items[i].Name)
	}
}

func asideLabel(p *i18n.Printer) func(string) string {
	return func(field string) string { return p.T("flag.aside." + field) }
}
