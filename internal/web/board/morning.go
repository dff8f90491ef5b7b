package board

import (
	"cmp"
	"context"
	"net/http"
	"slices"
	"strings"

	"github.com/go-chi/chi/v5"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// morningRoutes are the page that a keeper starts the day from.
func (s *Service) morningRoutes(r chi.Router) {
	r.Get("/morning", s.Page(s.morningOwn))
	r.Get("/sites/{siteID}/morning", s.Page(s.morningShow))
}

// morningOwn is the page of a keeper's own site. A coordinator has many: the list
// of schools leads to each.
func (s *Service) morningOwn(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	if v.Actor.SiteID == "" {
		http.Redirect(w, r, "/sites", http.StatusSeeOther)
		return nil
	}
	site, err := s.DB.Site(r.Context(), v.Actor.SiteID)
	if err != nil {
		return err
	}
	return s.renderMorning(w, r, site)
}

func (s *Service) morningShow(w http.ResponseWriter, r *http.Request) error {
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	return s.renderMorning(w, r, site)
}

// morningWork is one tank of the page with everything that is told of it.
type morningWork struct {
	assess.Result
	lives  assess.FlagLives
	stored []store.Flag
	notes  []logbook.Note
	waits  bool // a note waits for the reader
}

func (s *Service) renderMorning(w http.ResponseWriter, r *http.Request, site logbook.Site) error {
	v := req.Of(r)
	tanks, err := s.morningTanks(r.Context(), v, site)
	if err != nil {
		return err
	}
	duty, err := s.DB.DutyList(r.Context(), site.ID)
	if err != nil {
		return err
	}
	spans, err := s.DB.ClosedSpans(r.Context(), site.ID)
	if err != nil {
		return err
	}
	profile, err := s.Assess.Profile(r.Context())
	if err != nil {
		return err
	}
	page := s.NewPage(r, "morning.title", "morning")
	page.Styles = []string{"keeper.css"}
	today, p := s.Assess.Today(site, v.Now), page.P
	weekends, _ := profile.Value(rules.CheckWeekends, "", "")
	since := LookedBefore(site, spans, today, weekends != 0)
	m := MorningPage{Page: page, Site: site.Name, SiteHref: ui.SitePath(site.ID), Day: p.DateWeekday(today)}
	m.Since = p.T("morning.since", logbook.Args{"On": p.DateWeekday(since)})
	if since == today.AddDays(-1) {
		m.Since = p.T("morning.since_yesterday")
	}
	m.Sentence = morningSentence(p, tanks, spans, today)
	m.Duty = words.DutySentence(p, duty.On(today))
	m.Cover, m.CoverHref = morningCover(p, site, &duty, spans, today)
	due := 0
	for i := range tanks {
		if tanks[i].checkDue() {
			due++
		}
		m.Tanks = append(m.Tanks, tanks[i].view(v, p, since))
	}
	m.Round = due > 1
	return s.Render(w, r, http.StatusOK, MorningPageView(m))
}

// morningTanks are the tanks of a site in which fish are expected, those that
// need somebody first.
func (s *Service) morningTanks(ctx context.Context, v *req.Info, site logbook.Site) ([]morningWork, error) {
	heads, err := s.DB.SeasonHeads(ctx, store.SeasonFilter{SiteID: site.ID, OpenOnly: true})
	if err != nil {
		return nil, err
	}
	notes, err := s.DB.OpenNotes(ctx, v.Actor)
	if err != nil {
		return nil, err
	}
	var out []morningWork
	for _, h := range heads {
		season, err := s.DB.LoadSeason(ctx, h.ID)
		if err != nil {
			return nil, err
		}
		t := morningWork{notes: notes[h.ID]}
		if t.Result, err = s.Assess.Assess(ctx, season, v.Now); err != nil {
			return nil, err
		}
		if !t.Assessment.Active {
			continue
		}
		if t.stored, err = s.DB.Flags(ctx, h.ID, true); err != nil {
			return nil, err
		}
		t.lives = assess.LivesOf(t.stored)
		t.lives.EndShelving(&t.Assessment)
		for i := range t.notes {
			t.waits = t.waits || words.NoteWaits(&t.notes[i], t.notes, v.Actor.Role)
		}
		out = append(out, t)
	}
	slices.SortStableFunc(out, func(a, b morningWork) int {
		x, y := &a.Assessment, &b.Assessment
		return cmp.Or(cmp.Compare(x.Status.Order(), y.Status.Order()), a.lives.Harm(x).Compare(b.lives.Harm(y)))
	})
	return out, nil
}

func (t *morningWork) checkDue() bool { return t.Assessment.DueToday && !t.Assessment.CheckedToday }

// LookedBefore is the last day before today on which somebody looks at the site:
// on a Monday that is Friday. What changed since then is told.
func LookedBefore(site logbook.Site, spans []logbook.ClosedSpan, today civil.Date, weekends bool) civil.Date {
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
func morningSentence(p *i18n.Printer, tanks []morningWork, spans []logbook.ClosedSpan, today civil.Date) string {
	if len(tanks) == 0 {
		return p.T("morning.no_fish")
	}
	names := map[rules.Status][]string{}
	due, made := 0, 0
	for i := range tanks {
		a := &tanks[i].Assessment
		status := a.Status
		if status == rules.StatusFine && tanks[i].waits {
			status = rules.StatusDue
		}
		names[status] = append(names[status], tanks[i].Season.Tank.Name)
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
	case len(names[rules.StatusDue]) > 0:
		list := names[rules.StatusDue]
		how = p.T("morning.due", logbook.Args{"Count": len(list), "Names": strings.Join(list, ", ")})
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

// coverLongest bounds the days of a holiday that are looked at; longer than any.
const coverLongest = 366

// morningCover says who looks on the closed days of this week and the next, and
// asks for somebody when nobody is named.
func morningCover(p *i18n.Printer, site logbook.Site, duty *logbook.DutyList, spans []logbook.ClosedSpan,
	today civil.Date) (text, href string) {
	for _, c := range spans {
		if c.To.Before(today) || c.From.After(today.AddDays(coverAhead)) {
			continue
		}
		args := logbook.Args{"Days": ui.DateSpan(p, c.From, c.To)}
		last := civil.Min(c.To, today.AddDays(coverLongest))
		for d := civil.Max(c.From, today); !d.After(last); d = d.AddDays(1) {
			turn := duty.On(d)
			if turn.Cover == nil {
				return p.T("morning.cover_missing", args), ui.SitePath(site.ID, "/cover/new")
			}
			args["Who"] = turn.Who
		}
		return p.T("morning.cover", args), ui.SitePath(site.ID, "/duty")
	}
	return "", ""
}
