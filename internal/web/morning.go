package web

import (
	"context"
	"net/http"
	"slices"
	"strings"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

// morningRoutes are the page that a keeper starts the day from.
func (s *Server) morningRoutes(r chi.Router) {
	r.Get("/morning", s.page(s.morningOwn))
	r.Get("/sites/{siteID}/morning", s.page(s.morningShow))
}

// morningOwn is the page of a keeper's own site. A coordinator has many: the list
// of schools leads to each.
func (s *Server) morningOwn(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	if v.actor.SiteID == "" {
		http.Redirect(w, r, "/sites", http.StatusSeeOther)
		return nil
	}
	site, err := s.db.Site(r.Context(), v.actor.SiteID)
	if err != nil {
		return err
	}
	return s.renderMorning(w, r, site)
}

func (s *Server) morningShow(w http.ResponseWriter, r *http.Request) error {
	site, err := s.siteOf(r)
	if err != nil {
		return err
	}
	return s.renderMorning(w, r, site)
}

// morningTank is one tank of the page with everything that is told of it.
type morningTank struct {
	assessed
	lives  flagLives
	stored []store.Flag
	notes  []logbook.Note
}

func (s *Server) renderMorning(w http.ResponseWriter, r *http.Request, site logbook.Site) error {
	v := visitOf(r)
	tanks, err := s.morningTanks(r.Context(), v, site)
	if err != nil {
		return err
	}
	duty, err := s.db.DutyList(r.Context(), site.ID)
	if err != nil {
		return err
	}
	spans, err := s.db.ClosedSpans(r.Context(), site.ID)
	if err != nil {
		return err
	}
	profile, err := s.profile(r.Context())
	if err != nil {
		return err
	}
	page := s.newPage(r, "morning.title", "morning")
	page.P = s.reading(v, site)
	page.Styles = []string{"keeper.css"}
	today, p := s.today(site, v.now), page.P
	weekends, _ := profile.Value(rules.CheckWeekends, "", "")
	since := lookedBefore(site, spans, today, weekends != 0)
	m := view.MorningPage{Page: page, Site: site.Name, SiteHref: "/sites/" + string(site.ID), Day: p.DateWeekday(today)}
	m.Since = p.T("morning.since", logbook.Args{"On": p.DateWeekday(since)})
	if since == today.AddDays(-1) {
		m.Since = p.T("morning.since_yesterday")
	}
	m.Sentence = morningSentence(p, tanks, spans, today)
	m.Duty = dutySentence(p, duty.On(today))
	m.Cover, m.CoverHref = morningCover(p, site, &duty, spans, today)
	due := 0
	for i := range tanks {
		if tanks[i].checkDue() {
			due++
		}
		m.Tanks = append(m.Tanks, tanks[i].view(v, p, since))
	}
	m.Round = due > 1
	return s.render(w, r, http.StatusOK, view.MorningPageView(m))
}

// morningTanks are the tanks of a site in which fish are expected, those that
// need somebody first.
func (s *Server) morningTanks(ctx context.Context, v *visit, site logbook.Site) ([]morningTank, error) {
	heads, err := s.db.SeasonHeads(ctx, store.SeasonFilter{SiteID: site.ID, OpenOnly: true})
	if err != nil {
		return nil, err
	}
	notes, err := s.db.OpenNotes(ctx, v.actor)
	if err != nil {
		return nil, err
	}
	var out []morningTank
	for _, h := range heads {
		season, err := s.db.LoadSeason(ctx, h.ID)
		if err != nil {
			return nil, err
		}
		t := morningTank{notes: notes[h.ID]}
		if t.assessed, err = s.assess(ctx, season, v.now); err != nil {
			return nil, err
		}
		if !t.Assessment.Active {
			continue
		}
		if t.stored, err = s.db.Flags(ctx, h.ID, true); err != nil {
			return nil, err
		}
		t.lives = livesOf(t.stored)
		t.lives.awaken(&t.Assessment)
		out = append(out, t)
	}
	slices.SortStableFunc(out, func(a, b morningTank) int {
		return a.Assessment.Status.Order() - b.Assessment.Status.Order()
	})
	return out, nil
}

func (t *morningTank) checkDue() bool { return t.Assessment.DueToday && !t.Assessment.CheckedToday }

// lookedBefore is the last day before today on which somebody looks at the site:
// on a Monday that is Friday. What changed since then is told.
func lookedBefore(site logbook.Site, spans []logbook.ClosedSpan, today civil.Date, weekends bool) civil.Date {
	closed := logbook.Season{ClosedDays: spans}
	const longest = 21 // days; a longer holiday is told from its tanks' pages
	for i := 1; i <= longest; i++ {
		if d := today.AddDays(-i); site.LooksOn(d, weekends) && !closed.SchoolClosed(d) {
			return d
		}
	}
	return today.AddDays(-1)
}

// morningSentence says how things are in two short sentences. A tank that nobody
// has looked at is never called fine.
func morningSentence(p *i18n.Printer, tanks []morningTank, spans []logbook.ClosedSpan, today civil.Date) string {
	if len(tanks) == 0 {
		return p.T("morning.no_fish")
	}
	names := map[rules.Status][]string{}
	due, made := 0, 0
	for i := range tanks {
		a := &tanks[i].Assessment
		names[a.Status] = append(names[a.Status], tanks[i].Season.Tank.Name)
		switch {
		case tanks[i].checkDue():
			due++
		case a.DueToday:
			made++
		}
	}
	how := ""
	switch fine := len(names[rules.StatusFine]); {
	case len(names[rules.StatusAct]) > 0:
		list := names[rules.StatusAct]
		how = p.T("morning.act", logbook.Args{"Count": len(list), "Names": strings.Join(list, ", ")})
	case len(names[rules.StatusWatch]) > 0:
		list := names[rules.StatusWatch]
		how = p.T("morning.watch", logbook.Args{"Count": len(list), "Names": strings.Join(list, ", ")})
	case fine == len(tanks):
		how = p.T("morning.fine", logbook.Args{"Count": fine})
	case fine > 0:
		how = p.T("morning.some_fine", logbook.Args{"Count": fine, "All": len(tanks)})
	default:
		how = p.T("morning.unseen", logbook.Args{"Count": len(tanks)})
	}
	return how + " " + morningChecks(p, due, made, spans, today)
}

func morningChecks(p *i18n.Printer, due, made int, spans []logbook.ClosedSpan, today civil.Date) string {
	closed := logbook.Season{ClosedDays: spans}
	switch {
	case due > 0:
		return p.T("morning.to_check", logbook.Args{"Count": due})
	case made > 0:
		return p.T("morning.all_checked")
	case closed.SchoolClosed(today):
		return p.T("morning.closed")
	}
	return p.T("morning.no_check")
}

// coverAhead is for how many days ahead the page tells who looks on closed days.
// A local choice.
const coverAhead = 7

// morningCover says who looks on the closed days of this week and the next, and
// asks for somebody when nobody is named.
func morningCover(p *i18n.Printer, site logbook.Site, duty *logbook.DutyList, spans []logbook.ClosedSpan, today civil.Date) (text, href string) {
	for _, c := range spans {
		if c.To.Before(today) || c.From.After(today.AddDays(coverAhead)) {
			continue
		}
		args := logbook.Args{"Days": view.DateSpan(p, c.From, c.To)}
		for d := civil.Max(c.From, today); !d.After(c.To); d = d.AddDays(1) {
			turn := duty.On(d)
			if turn.Cover == nil {
				return p.T("morning.cover_missing", args), "/sites/" + string(site.ID) + "/cover/new"
			}
			args["Who"] = turn.Who
		}
		return p.T("morning.cover", args), "/sites/" + string(site.ID) + "/duty"
	}
	return "", ""
}
