package school

import (
	"fmt"
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/entries"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// dutyRoutes are who looks after the tanks of a site, and the days on which the
// school is closed.
func (s *Service) dutyRoutes(r chi.Router) {
	r.Get("/sites/{siteID}/duty", s.Page(s.dutyShow))
	r.Post("/sites/{siteID}/duty", s.Page(s.dutySave))
	r.Get("/sites/{siteID}/cover/new", s.Page(s.coverNew))
	r.Post("/sites/{siteID}/cover", s.Page(s.coverCreate))
	r.Get("/sites/{siteID}/cover/{coverID}/correct", s.Page(s.coverEdit))
	r.Post("/sites/{siteID}/cover/{coverID}/correct", s.Page(s.coverUpdate))
	r.Get("/sites/{siteID}/closed-days/{spanID}/correct", s.Page(s.closedEdit))
	r.Post("/sites/{siteID}/closed-days/{spanID}/correct", s.Page(s.closedUpdate))
}

const routeCoverCreate = "POST /sites/{id}/cover"

func (s *Service) dutyShow(w http.ResponseWriter, r *http.Request) error {
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	l, err := s.DB.DutyList(r.Context(), site.ID)
	if err != nil {
		return err
	}
	return s.renderDuty(w, r, site, &l, dutyValues(&l.Week))
}

func dutyValues(week *logbook.DutyWeek) *form.Form {
	f := form.NewForm()
	for d, who := range week.Who {
		f.Set(logbook.DutyField(time.Weekday(d)), who)
	}
	f.Set("revision", fmt.Sprint(week.Revision))
	return f
}

// renderDuty shows the week as a form, the covers and the closed days.
func (s *Service) renderDuty(w http.ResponseWriter, r *http.Request, site logbook.Site, l *logbook.DutyList,
	f *form.Form) error {
	v := req.Of(r)
	spans, err := s.DB.ClosedSpans(r.Context(), site.ID)
	if err != nil {
		return err
	}
	today, path := s.Assess.Today(site, v.Now), ui.SitePath(site.ID)
	m := DutyPage{Page: s.NewPage(r, "duty.title", "sites"), Site: site.Name, SiteHref: path,
		Today: words.DutySentence(v.P, l.On(today)), Revision: f.Raw("revision")}
	m.Styles = []string{"keeper.css"}
	for i := range 7 {
		d := time.Weekday((i + 1) % 7) // the school week begins on Monday
		m.Week = append(m.Week, ui.Field{Name: logbook.DutyField(d), Label: v.P.T(fmt.Sprintf("weekday.%d", d)),
			Value: f.Raw(logbook.DutyField(d))})
	}
	m.Problems = form.ShowProblems(v.P, f.Problems, func(field string) string {
		for _, day := range m.Week {
			if day.Name == field {
				return day.Label
			}
		}
		return v.P.T("entry.revision")
	})
	for _, c := range l.Coming(today) {
		m.Covers = append(m.Covers, DutyLine{Text: v.P.T("duty.cover_line", logbook.Args{"From": c.From, "To": c.To,
			"Who": c.Who}), Note: c.Note,
			Href: path + "/cover/" + string(c.ID) + "/correct"})
	}
	m.Closed = closedLines(v.P, path, spans)
	status := http.StatusOK
	if m.Error = len(m.Problems) > 0; m.Error {
		status = req.StatusWith(f.Problems)
	}
	return s.Render(w, r, status, DutyPageView(m))
}

// closedLines lists closed days with the way to correct them.
func closedLines(p *i18n.Printer, site string, spans []logbook.ClosedSpan) []DutyLine {
	var out []DutyLine
	for _, c := range spans {
		out = append(out, DutyLine{Text: p.T("site.closed.span", logbook.Args{"From": c.From, "To": c.To,
			"Reason": c.Reason}),
			Href: site + "/closed-days/" + string(c.ID) + "/correct"})
	}
	return out
}

func (s *Service) dutySave(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	week := logbook.DutyWeek{SiteID: site.ID}
	week.Revision = f.Revision()
	for d := range week.Who {
		week.Who[d] = f.Text(logbook.DutyField(time.Weekday(d)))
	}
	f.Add(week.Validate())
	stale := false
	if len(f.Problems) == 0 {
		if _, err = s.DB.SaveDutyWeek(r.Context(), v.Actor, week, v.Now); err != nil && !req.IsStale(err) {
			return err
		}
		stale = err != nil
	}
	if stale || len(f.Problems) > 0 {
		l, err := s.DB.DutyList(r.Context(), site.ID)
		if err != nil {
			return err
		}
		if stale {
			f.EditConflict(dutyValues(&l.Week), l.Week.Revision)
		}
		return s.renderDuty(w, r, site, &l, f)
	}
	return s.Saved(w, r, ui.SitePath(site.ID, "/duty"))
}

// coverForm shows the form of a cover; a correction also asks why.
func (s *Service) coverForm(w http.ResponseWriter, r *http.Request, site logbook.Site, id logbook.ID,
	f *form.Form) error {
	b := form.FormItems(s.Cat, req.Of(r).P, "cover")
	b.Date("from", f.Raw("from"), false)
	b.Date("to", f.Raw("to"), false)
	b.Text("who", f.Raw("who"))
	b.OptionalText("note", f.Raw("note"))
	path, verb := ui.SitePath(site.ID), "new"
	action := path + "/cover"
	if id != "" {
		verb, action = "correct", path+"/cover/"+string(id)+"/correct"
		takeBackItems(b, f)
	}
	m := s.FormPage(r, b, verb, "sites", action, path+"/duty")
	m.Intro = b.P.T("cover.intro")
	m.Hidden = []ui.Option{{Value: "key", Label: f.Raw("key")}}
	if id != "" {
		m.Hidden = []ui.Option{{Value: "revision", Label: f.Raw("revision")}}
	}
	return s.ShowForm(w, r, m, b, f.Problems)
}

// takeBackItems ask why days are changed, and whether they were wrong altogether.
func takeBackItems(b *form.Items, f *form.Form) {
	b.Tick("remove", f.Raw("remove") != "")
	b.Text("why", f.Raw("why"))
}

func (s *Service) coverNew(w http.ResponseWriter, r *http.Request) error {
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	f := form.NewForm()
	f.Set("key", string(logbook.NewID()))
	return s.coverForm(w, r, site, "", f)
}

func readCover(f *form.Form, c logbook.Cover) logbook.Cover {
	c.From, c.To, c.Who, c.Note = f.Date("from"), f.Date("to"), f.Text("who"), f.Text("note")
	f.Add(c.Validate())
	return c
}

func (s *Service) coverCreate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	c := readCover(f, logbook.Cover{SiteID: site.ID})
	if len(f.Problems) > 0 {
		return s.coverForm(w, r, site, "", f)
	}
	err = entries.CreateOnce(form.FormKey(f.Text("key")), routeCoverCreate, c, func(once store.IdempotencyKey) error {
		_, err := s.DB.CreateCover(r.Context(), v.Actor, c, v.Now, once)
		return err
	})
	if err != nil {
		return err
	}
	return s.Saved(w, r, ui.SitePath(site.ID, "/duty"))
}

// coverOf finds the cover of the address in the list of its site.
func (s *Service) coverOf(r *http.Request) (logbook.Cover, logbook.Site, error) {
	site, err := s.SiteOf(r)
	if err != nil {
		return logbook.Cover{}, site, err
	}
	l, err := s.DB.DutyList(r.Context(), site.ID)
	if err != nil {
		return logbook.Cover{}, site, err
	}
	for _, c := range l.Covers {
		if c.ID == req.URLID(r, "coverID") {
			return c, site, nil
		}
	}
	return logbook.Cover{}, site, logbook.Missing("cover")
}

func (s *Service) coverEdit(w http.ResponseWriter, r *http.Request) error {
	c, site, err := s.coverOf(r)
	if err != nil {
		return err
	}
	return s.coverForm(w, r, site, c.ID, coverValues(c))
}

func coverValues(c logbook.Cover) *form.Form {
	f := form.NewForm()
	f.Set("from", c.From.String())
	f.Set("to", c.To.String())
	f.Set("who", c.Who)
	f.Set("note", c.Note)
	f.Set("revision", fmt.Sprint(c.Revision))
	return f
}

func (s *Service) coverUpdate(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	c, site, err := s.coverOf(r)
	if err != nil {
		return err
	}
	f, err := form.ReadForm(r)
	if err != nil {
		return err
	}
	c.Revision = f.Revision()
	remove, why := f.Raw("remove") != "", form.ReadWhy(f)
	if !remove {
		c = readCover(f, c)
	}
	if len(f.Problems) > 0 {
		return s.coverForm(w, r, site, c.ID, f)
	}
	_, err = s.DB.UpdateCover(r.Context(), v.Actor, c, remove, why, v.Now)
	if req.IsStale(err) {
		now, site, err := s.coverOf(r)
		if err != nil {
			return err
		}
		f.EditConflict(coverValues(now), now.Revision)
		return s.coverForm(w, r, site, now.ID, f)
	}
	if err != nil {
		return err
	}
	return s.Saved(w, r, ui.SitePath(site.ID, "/duty"))
}
