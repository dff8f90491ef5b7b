package web

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

// dutyRoutes are who looks after the tanks of a site, and the days on which the
// school is closed.
func (s *Server) dutyRoutes(r chi.Router) {
	r.Get("/sites/{siteID}/duty", s.page(s.dutyShow))
	r.Post("/sites/{siteID}/duty", s.page(s.dutySave))
	r.Get("/sites/{siteID}/cover/new", s.page(s.coverNew))
	r.Post("/sites/{siteID}/cover", s.page(s.coverCreate))
	r.Get("/sites/{siteID}/cover/{coverID}/correct", s.page(s.coverEdit))
	r.Post("/sites/{siteID}/cover/{coverID}/correct", s.page(s.coverUpdate))
	r.Get("/sites/{siteID}/closed-days/{spanID}/correct", s.page(s.closedEdit))
	r.Post("/sites/{siteID}/closed-days/{spanID}/correct", s.page(s.closedUpdate))
}

const routeCoverCreate = "POST /sites/{id}/cover"

// dutyTurn is whose turn a day is at a site; Who is empty when nobody was named.
func (s *Server) dutyTurn(ctx context.Context, site logbook.ID, on civil.Date) (logbook.DutyTurn, error) {
	l, err := s.db.DutyList(ctx, site)
	if err != nil {
		return logbook.DutyTurn{}, err
	}
	return l.On(on), nil
}

// dutySentence says whose turn it is today, "" when nobody was named.
func dutySentence(p *i18n.Printer, t logbook.DutyTurn) string {
	switch {
	case t.Who == "":
		return ""
	case t.Cover != nil:
		return p.T("duty.cover_today", logbook.Args{"Who": t.Who, "To": p.DateShort(t.Cover.To)})
	}
	return p.T("duty.today", logbook.Args{"Who": t.Who})
}

func (s *Server) dutyShow(w http.ResponseWriter, r *http.Request) error {
	site, err := s.siteOf(r)
	if err != nil {
		return err
	}
	l, err := s.db.DutyList(r.Context(), site.ID)
	if err != nil {
		return err
	}
	return s.renderDuty(w, r, site, &l, dutyValues(&l.Week))
}

func dutyValues(week *logbook.DutyWeek) *form {
	f := newForm()
	for d, who := range week.Who {
		f.set(logbook.DutyField(time.Weekday(d)), who)
	}
	f.set("revision", fmt.Sprint(week.Revision))
	return f
}

// renderDuty shows the week as a form, the covers and the closed days.
func (s *Server) renderDuty(w http.ResponseWriter, r *http.Request, site logbook.Site, l *logbook.DutyList, f *form) error {
	v := visitOf(r)
	spans, err := s.db.ClosedSpans(r.Context(), site.ID)
	if err != nil {
		return err
	}
	today, path := s.today(site, v.now), "/sites/"+string(site.ID)
	m := view.DutyPage{Page: s.newPage(r, "duty.title", "sites"), Site: site.Name, SiteHref: path,
		Today: dutySentence(v.p, l.On(today)), Revision: f.raw("revision")}
	m.Styles = []string{"keeper.css"}
	for i := range 7 {
		d := time.Weekday((i + 1) % 7) // the school week begins on Monday
		m.Week = append(m.Week, view.Field{Name: logbook.DutyField(d), Label: v.p.T(fmt.Sprintf("weekday.%d", d)), Value: f.raw(logbook.DutyField(d))})
	}
	m.Problems = showProblems(v.p, f.problems, func(field string) string {
		for _, day := range m.Week {
			if day.Name == field {
				return day.Label
			}
		}
		return v.p.T("entry.revision")
	})
	for _, c := range l.Coming(today) {
		m.Covers = append(m.Covers, view.DutyLine{Text: v.p.T("duty.cover_line", logbook.Args{"From": c.From, "To": c.To, "Who": c.Who}), Note: c.Note,
			Href: path + "/cover/" + string(c.ID) + "/correct"})
	}
	m.Closed = closedLines(v.p, path, spans)
	status := http.StatusOK
	if m.Error = len(m.Problems) > 0; m.Error {
		status = statusWith(f.problems)
	}
	return s.render(w, r, status, view.DutyPageView(m))
}

// closedLines lists closed days with the way to correct them.
func closedLines(p *i18n.Printer, site string, spans []logbook.ClosedSpan) []view.DutyLine {
	var out []view.DutyLine
	for _, c := range spans {
		out = append(out, view.DutyLine{Text: p.T("site.closed.span", logbook.Args{"From": c.From, "To": c.To, "Reason": c.Reason}),
			Href: site + "/closed-days/" + string(c.ID) + "/correct"})
	}
	return out
}

func (s *Server) dutySave(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	site, err := s.siteOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	week := logbook.DutyWeek{SiteID: site.ID}
	week.Revision = f.revision()
	for d := range week.Who {
		week.Who[d] = f.text(logbook.DutyField(time.Weekday(d)))
	}
	f.add(week.Validate())
	stale := false
	if len(f.problems) == 0 {
		if _, err = s.db.SaveDutyWeek(r.Context(), v.actor, week, v.now); err != nil && !isStale(err) {
			return err
		}
		stale = err != nil
	}
	if stale || len(f.problems) > 0 {
		l, err := s.db.DutyList(r.Context(), site.ID)
		if err != nil {
			return err
		}
		if stale {
			f.meanwhile(dutyValues(&l.Week), l.Week.Revision)
		}
		return s.renderDuty(w, r, site, &l, f)
	}
	return s.saved(w, r, "/sites/"+string(site.ID)+"/duty")
}

// coverForm shows the form of a cover; a correction also asks why.
func (s *Server) coverForm(w http.ResponseWriter, r *http.Request, site logbook.Site, id logbook.ID, f *form) error {
	b := formItems(s.cat, visitOf(r).p, "cover")
	b.date("from", f.raw("from"), false)
	b.date("to", f.raw("to"), false)
	b.text("who", f.raw("who"))
	b.optionalText("note", f.raw("note"))
	path, verb := "/sites/"+string(site.ID), "new"
	action := path + "/cover"
	if id != "" {
		verb, action = "correct", path+"/cover/"+string(id)+"/correct"
		takeBackItems(b, f)
	}
	m := s.formPage(r, b, verb, "sites", action, path+"/duty")
	m.Intro = b.p.T("cover.intro")
	m.Hidden = []view.Option{{Value: "key", Label: f.raw("key")}}
	if id != "" {
		m.Hidden = []view.Option{{Value: "revision", Label: f.raw("revision")}}
	}
	return s.showForm(w, r, m, b, f.problems)
}

// takeBackItems ask why days are changed, and whether they were wrong altogether.
func takeBackItems(b *items, f *form) {
	b.tick("remove", f.raw("remove") != "")
	b.text("why", f.raw("why"))
}

// readWhy reads why days are changed.
func readWhy(f *form) string {
	why := f.text("why")
	switch {
	case why == "":
		f.fail("why", "error.reason", nil)
	case len([]rune(why)) > maxReason:
		f.fail("why", "entry.too_long", logbook.Args{"Max": maxReason})
	}
	return why
}

func (s *Server) coverNew(w http.ResponseWriter, r *http.Request) error {
	site, err := s.siteOf(r)
	if err != nil {
		return err
	}
	f := newForm()
	f.set("key", string(logbook.NewID()))
	return s.coverForm(w, r, site, "", f)
}

func readCover(f *form, c logbook.Cover) logbook.Cover {
	c.From, c.To, c.Who, c.Note = f.date("from"), f.date("to"), f.text("who"), f.text("note")
	f.add(c.Validate())
	return c
}

func (s *Server) coverCreate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	site, err := s.siteOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	c := readCover(f, logbook.Cover{SiteID: site.ID})
	if len(f.problems) > 0 {
		return s.coverForm(w, r, site, "", f)
	}
	print, err := fingerprint(c)
	if err != nil {
		return err
	}
	once := store.Once{Key: formKey(f.text("key")), Route: routeCoverCreate, Fingerprint: print}
	_, err = s.db.CreateCover(r.Context(), v.actor, c, v.now, once)
	if isMismatch(err) { // the form was sent again with other days, after the Back button
		_, err = s.db.CreateCover(r.Context(), v.actor, c, v.now, store.Once{})
	}
	if err != nil {
		return err
	}
	return s.saved(w, r, "/sites/"+string(site.ID)+"/duty")
}

// coverOf finds the cover of the address in the list of its site.
func (s *Server) coverOf(r *http.Request) (logbook.Cover, logbook.Site, error) {
	site, err := s.siteOf(r)
	if err != nil {
		return logbook.Cover{}, site, err
	}
	l, err := s.db.DutyList(r.Context(), site.ID)
	if err != nil {
		return logbook.Cover{}, site, err
	}
	for _, c := range l.Covers {
		if c.ID == urlID(r, "coverID") {
			return c, site, nil
		}
	}
	return logbook.Cover{}, site, logbook.Missing("cover")
}

func (s *Server) coverEdit(w http.ResponseWriter, r *http.Request) error {
	c, site, err := s.coverOf(r)
	if err != nil {
		return err
	}
	return s.coverForm(w, r, site, c.ID, coverValues(c))
}

func coverValues(c logbook.Cover) *form {
	f := newForm()
	f.set("from", c.From.String())
	f.set("to", c.To.String())
	f.set("who", c.Who)
	f.set("note", c.Note)
	f.set("revision", fmt.Sprint(c.Revision))
	return f
}

func (s *Server) coverUpdate(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	c, site, err := s.coverOf(r)
	if err != nil {
		return err
	}
	f, err := readForm(r)
	if err != nil {
		return err
	}
	c.Revision = f.revision()
	remove, why := f.raw("remove") != "", readWhy(f)
	if !remove {
		c = readCover(f, c)
	}
	if len(f.problems) > 0 {
		return s.coverForm(w, r, site, c.ID, f)
	}
	_, err = s.db.UpdateCover(r.Context(), v.actor, c, remove, why, v.now)
	if isStale(err) {
		now, site, err := s.coverOf(r)
		if err != nil {
			return err
		}
		f.meanwhile(coverValues(now), now.Revision)
		return s.coverForm(w, r, site, now.ID, f)
	}
	if err != nil {
		return err
	}
	return s.saved(w, r, "/sites/"+string(site.ID)+"/duty")
}
