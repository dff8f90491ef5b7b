package school

import (
	"bytes"
	"cmp"
	"context"
	"crypto/rand"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// calendarCheckDays is for how many days ahead the feed says that checks are due.
const calendarCheckDays = 14

// calendarRoutes are the pages on which the address of a calendar is made and
// ended.
func (s *Service) calendarRoutes(r chi.Router) {
	r.Get("/sites/{siteID}/calendar", s.Page(s.calendarShow))
	r.Post("/sites/{siteID}/calendar", s.Page(s.calendarMake))
	r.Post("/sites/{siteID}/calendar/{calendarID}/revoke", s.Page(s.calendarRevoke))
}

func (s *Service) calendarShow(w http.ResponseWriter, r *http.Request) error {
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	return s.renderCalendar(w, r, site, "")
}

// renderCalendar lists the addresses; that of a new one is shown once.
func (s *Service) renderCalendar(w http.ResponseWriter, r *http.Request, site logbook.Site, address string) error {
	list, err := s.DB.CalendarTokens(r.Context(), site.ID)
	if err != nil {
		return err
	}
	v, path := req.Of(r), ui.SitePath(site.ID)
	events, _, err := s.calendarEvents(r.Context(), v.P, site, v.Now)
	if err != nil {
		return err
	}
	m := CalendarPage{Page: s.NewPage(r, "calendar.title", "sites"), Site: site.Name, SiteHref: path,
		Action: path + "/calendar", Address: address, Weeks: calendarWeeks(v.P, events, s.Assess.Today(site, v.Now))}
	for _, t := range list {
		m.Rows = append(m.Rows, CalendarRow{Action: path + "/calendar/" + string(t.ID) + "/revoke",
			Text: m.T("calendar.made", logbook.Args{"On": civil.In(t.CreatedAt, site.Location()), "By": t.CreatedBy})})
	}
	return s.Render(w, r, http.StatusOK, CalendarPageView(m))
}

func (s *Service) calendarMake(w http.ResponseWriter, r *http.Request) error {
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	v, secret := req.Of(r), strings.ToLower(rand.Text())
	if err := s.DB.CreateCalendarToken(r.Context(), v.Actor, site.ID, store.HashToken(secret), v.Now); err != nil {
		return err
	}
	scheme := "http://"
	if s.TLS || r.TLS != nil {
		scheme = "https://"
	}
	w.Header().Set("Cache-Control", "no-store")
	return s.renderCalendar(w, r, site, scheme+r.Host+"/calendar/"+secret+".ics")
}

func (s *Service) calendarRevoke(w http.ResponseWriter, r *http.Request) error {
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	if err := s.DB.RevokeCalendarToken(r.Context(), site.ID, logbook.ID(chi.URLParam(r, "calendarID")),
		req.Of(r).Now); err != nil {
		return err
	}
	return s.Saved(w, r, ui.SitePath(site.ID, "/calendar"))
}

// feedRoutes need no session: the secret stands in the address.
func (s *Service) feedRoutes(r chi.Router) { r.Get("/calendar/{token}.ics", s.Page(s.calendarFeed)) }

// calendarFeed answers whoever knows the secret, in the language of the site.
func (s *Service) calendarFeed(w http.ResponseWriter, r *http.Request) error {
	id, err := s.DB.CalendarSite(r.Context(), store.HashToken(chi.URLParam(r, "token")))
	if err != nil {
		return err
	}
	site, err := s.DB.Site(r.Context(), id)
	if err != nil {
		return err
	}
	now := req.Of(r).Now
	p := s.Cat.Printer(site.Language, site.TemperatureUnit)
	events, checks, err := s.calendarEvents(r.Context(), p, site, now)
	if err != nil {
		return err
	}
	events = append(events, checks...)
	var b bytes.Buffer
	if err := report.WriteCalendar(&b, p.T("calendar.name", logbook.Args{"Site": site.Name}), now, events); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/calendar; charset=utf-8")
	w.Header().Set("Cache-Control", "private, max-age=900")
	_, _ = w.Write(b.Bytes())
	return nil
}

// calendarEvents gathers the days of the open seasons of a site, and the days on
// which somebody is to look.
func (s *Service) calendarEvents(ctx context.Context, p *i18n.Printer, site logbook.Site,
	now time.Time) (out, checks []report.CalendarEvent, err error) {
	heads, err := s.DB.SeasonHeads(ctx, store.SeasonFilter{SiteID: site.ID, OpenOnly: true})
	if err != nil {
		return nil, nil, err
	}
	profile, err := s.Assess.Profile(ctx)
	if err != nil {
		return nil, nil, err
	}
	duty, err := s.DB.DutyList(ctx, site.ID)
	if err != nil {
		return nil, nil, err
	}
	spans, err := s.DB.ClosedSpans(ctx, site.ID)
	if err != nil {
		return nil, nil, err
	}
	for _, c := range spans {
		out = append(out, report.CalendarEvent{UID: "closed-" + string(c.ID) + "@reddside", From: c.From, To: c.To,
			Summary: strings.TrimSpace(p.T("calendar.closed") + " " + c.Reason)})
	}
	for _, c := range duty.Coming(s.Assess.Today(site, now)) {
		out = append(out, report.CalendarEvent{UID: "cover-" + string(c.ID) + "@reddside", From: c.From, To: c.To,
			Summary: p.T("calendar.cover", logbook.Args{"Who": c.Who}), Description: c.Note})
	}
	var open []*logbook.Season
	for _, h := range heads {
		season, err := s.DB.LoadSeason(ctx, h.ID)
		if err != nil {
			return nil, nil, err
		}
		if season.Gone(s.Assess.Today(site, now)) {
			continue // its fish are in the water
		}
		a, err := s.Assess.Assess(ctx, season, now)
		if err != nil {
			return nil, nil, err
		}
		out = append(out, calendarOf(p, a)...)
		open = append(open, season)
	}
	weekends, _ := profile.Value(rules.CheckWeekends, "", "")
	return out, checkDays(p, site, open, &duty, s.Assess.Today(site, now), weekends != 0), nil
}

// calendarWeeks lists what is to come by weeks, which begin on Mondays.
func calendarWeeks(p *i18n.Printer, events []report.CalendarEvent, today civil.Date) []CalendarWeek {
	events = slices.DeleteFunc(slices.Clone(events), func(e report.CalendarEvent) bool { return e.To.Before(today) })
	slices.SortStableFunc(events, func(a, b report.CalendarEvent) int {
		return cmp.Or(civil.Max(a.From, today).Compare(civil.Max(b.From, today)), a.To.Compare(b.To))
	})
	var out []CalendarWeek
	for _, e := range events {
		from := civil.Max(e.From, today)
		name := p.T("yearplan.week", logbook.Args{"Monday": Monday(from)})
		if n := len(out); n == 0 || out[n-1].Name != name {
			out = append(out, CalendarWeek{Name: name})
		}
		when := p.DateWeekday(e.From)
		if e.To.After(e.From) {
			when = ui.DateSpan(p, e.From, e.To)
		}
		week := &out[len(out)-1]
		week.Items = append(week.Items, CalendarItem{When: when, What: e.Summary,
			Do: strings.TrimSuffix(e.Description, " "+p.T("calendar.due_more"))})
	}
	return out
}

// calendarOf lists the forecast windows, things to do and plan steps of a season.
func calendarOf(p *i18n.Printer, a assess.Result) []report.CalendarEvent {
	s, f := a.Season, &a.Forecast
	var out []report.CalendarEvent
	add := func(uid string, from, to civil.Date, what, more string) {
		out = append(out, report.CalendarEvent{UID: uid + "@reddside", From: from, To: to, Summary: s.Tank.Name + ": " +
			what, Description: more})
	}
	if f.Ok() {
		for _, e := range forecast.Events() {
			if w := f.Window(e); w.Ok() && w.Observed.IsZero() {
				add(string(e)+"-"+string(s.ID), w.P10, w.P90,
					p.T("calendar.window", logbook.Args{"Event": ui.EventName(p, e)}),
					p.T("calendar.do."+string(e))+" "+p.T("calendar.window_more", logbook.Args{"Middle": w.P50}))
			}
		}
	}
	for _, d := range forecast.Husbandry(s, f) {
		on := d.Likely
		if on.IsZero() {
			on = d.By
		}
		if !on.IsZero() && d.Kind != forecast.DueWatchHatch {
			add("due-"+string(d.Kind)+"-"+string(s.ID), on, on, p.T(d.Kind.MessageKey()),
				p.T("calendar.do."+string(d.Kind))+" "+p.T("calendar.due_more"))
		}
	}
	if s.Plan != nil && s.Plan.EndedOn.IsZero() {
		for _, step := range s.Plan.Steps {
			if !step.On.Before(a.Today) {
				add("plan-"+string(s.Plan.ID)+"-"+step.On.String(), step.On, step.On,
					p.T("calendar.setpoint", logbook.Args{"T": step.Setpoint}), "")
			}
		}
	}
	return out
}

// checkDays says once for each day on which somebody looks which tanks are to be
// checked, and whose turn it is.
func checkDays(p *i18n.Printer, site logbook.Site, seasons []*logbook.Season, duty *logbook.DutyList, today civil.Date,
	weekends bool) []report.CalendarEvent {
	var out []report.CalendarEvent
	for i := range calendarCheckDays {
		d := today.AddDays(i)
		var tanks []string
		for _, s := range seasons {
			if s.CheckDue(d, weekends) {
				tanks = append(tanks, s.Tank.Name)
			}
		}
		if len(tanks) == 0 {
			continue
		}
		e := report.CalendarEvent{UID: "check-" + string(site.ID) + "-" + d.String() + "@reddside", From: d, To: d,
			Summary: p.T("calendar.check", logbook.Args{"Tanks": strings.Join(tanks, ", ")})}
		if turn := duty.On(d); turn.Who != "" {
			e.Description = p.T("calendar.turn", logbook.Args{"Who": turn.Who})
		}
		out = append(out, e)
	}
	return out
}
