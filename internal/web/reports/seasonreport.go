package reports

import (
	"net/http"
	"slices"

	"github.com/go-chi/chi/v5"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// reportRoutes are the reports of a season and of a school, for staff.
func (s *Service) reportRoutes(r chi.Router) {
	r.Get("/seasons/{seasonID}/report", s.Page(s.seasonReport))
	r.Get("/sites/{siteID}/report", s.Page(s.siteReport))
}

// programmeReportRoutes is the report of all schools, for the coordinator.
func (s *Service) programmeReportRoutes(r chi.Router) {
	r.Get("/report", s.Page(s.programmeReport))
}

// seasonReport is the report of one season, as a page or as CSV.
func (s *Service) seasonReport(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	a, err := s.Assess.Assess(r.Context(), season, v.Now)
	if err != nil {
		return err
	}
	profile, err := s.Assess.Profile(r.Context())
	if err != nil {
		return err
	}
	sheet := report.SheetOf(season, a.Today, &a.Forecast, profile)
	p := s.InSite(v, season.Site)
	var missing []string
	if len(sheet.Released) == 0 && season.ClosedOn.IsZero() {
		told, err := s.releaseTold(r.Context(), v, season, a.Today)
		if err != nil {
			return err
		}
		missing = told.missing()
	}
	parts := reportParts(p, &sheet, missing)
	if done, err := s.reportCSV(w, r, p, "season-report", season.Site.Name+"-"+season.Tank.Name+"-"+season.Label,
		partRows(parts)); done || err != nil {
		return err
	}
	m := ReportPage{Page: s.reportPage(r, "seasonreport.title"), BackHref: ui.SeasonPath(season.ID),
		Back: season.Tank.Name + ", " + season.Site.Name}
	m.P = p
	m.Title = p.T("seasonreport.title", logbook.Args{"Tank": season.Tank.Name, "Season": season.Label})
	m.Intro = p.T("seasonreport.intro", logbook.Args{"Species": season.Lot.Species, "Lot": season.Lot.Code,
		"Site": season.Site.Name, "On": sheet.UpTo})
	if m.Photos, err = s.ReportPhotos(r.Context(), p, season.ID); err != nil {
		return err
	}
	if m.State, err = s.state(r, "seasonreport.state", 0); err != nil {
		return err
	}
	for _, part := range parts {
		m.Sections = append(m.Sections, part.section(p))
	}
	return s.Render(w, r, http.StatusOK, ReportPageView(m))
}

func (s *Service) reportPage(r *http.Request, title string) ui.Page {
	page := s.NewPage(r, title, "board")
	page.Styles = []string{"seasonreport.css", "release.css"}
	return page
}

// siteReport is the table of the seasons of a school.
func (s *Service) siteReport(w http.ResponseWriter, r *http.Request) error {
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	return s.linesReport(w, r, store.SeasonFilter{SiteID: site.ID}, "seasonreport.site_title", site.Name,
		ui.SitePath(site.ID))
}

// programmeReport is the table of the seasons of all schools.
func (s *Service) programmeReport(w http.ResponseWriter, r *http.Request) error {
	return s.linesReport(w, r, store.SeasonFilter{}, "seasonreport.programme_title", req.Of(r).Programme.Name, "/board")
}

func (s *Service) linesReport(w http.ResponseWriter, r *http.Request, f store.SeasonFilter, title, name,
	back string) error {
	v := req.Of(r)
	heads, err := s.DB.SeasonHeads(r.Context(), f)
	if err != nil {
		return err
	}
	ids := make([]logbook.ID, len(heads))
	for i, h := range heads {
		ids[i] = h.ID
	}
	var lines []report.Line
	var logged []*logbook.Season
	if err := s.DB.LoadSeasons(r.Context(), ids, func(season *logbook.Season) error {
		if len(season.Readings) > 0 {
			logged = append(logged, season) // the forecast that it needs reads the logbook again
			return nil
		}
		lines = append(lines, report.LineOf(season, s.Assess.Today(season.Site, v.Now), nil, nil))
		return nil
	}); err != nil {
		return err
	}
	if len(logged) > 0 {
		profile, err := s.Assess.Profile(r.Context())
		if err != nil {
			return err
		}
		for _, season := range logged {
			a, err := s.Assess.Assess(r.Context(), season, v.Now)
			if err != nil {
				return err
			}
			lines = append(lines, report.LineOf(season, a.Today, &a.Forecast, profile))
		}
		place := make(map[logbook.ID]int, len(ids))
		for i, id := range ids {
			place[id] = i
		}
		slices.SortFunc(lines, func(a, b report.Line) int { return place[a.Season.ID] - place[b.Season.ID] })
	}
	t := linesTable(v.P, lines)
	if done, err := s.reportCSV(w, r, v.P, "report", name, t.records()); done || err != nil {
		return err
	}
	m := ReportPage{Page: s.reportPage(r, title), BackHref: back, Back: name, Wide: true}
	m.Title = v.P.T(title, logbook.Args{"Name": name})
	m.Intro = v.P.T("seasonreport.lines_intro", logbook.Args{"Count": len(lines)})
	if m.State, err = s.state(r, "seasonreport.state", 0); err != nil {
		return err
	}
	for _, part := range []struct {
		id      string
		columns []string
		notes   []string
	}{{"seasons", []string{"site", "tank", "season", "lot", "species", "supplier", "started", "closed"}, nil},
		{"accounts", []string{"site", "tank", "season", "delivered", "moved_in", "dead", "dead_eggs", "dead_alevins",
			"dead_fry", "moved_out", "sampled",
			"released", "unexplained", "alive", "survival_percent", "survival_low_percent", "survival_high_percent"},
			[]string{v.P.T("seasonreport.exact_note")}},
		{"care", []string{"site", "tank", "season", "degree_hours", "days_due", "days_checked", "checked_percent",
			"longest_gap", "late", "late_percent",
			"corrected", "corrected_percent"}, []string{v.P.T("seasonreport.due_note"),
			v.P.T("seasonreport.degree_note")}}} {
		x := t.only(part.id, part.columns)
		if part.id == "seasons" {
			x.rows = x.rows[:len(x.rows)-1] // nothing to add up
		}
		m.Sections = append(m.Sections, ReportSection{ID: part.id, Title: v.P.T("seasonreport.part." + part.id),
			Table: x.view(v.P), Notes: part.notes,
			Sum: part.id != "seasons"})
	}
	return s.Render(w, r, http.StatusOK, ReportPageView(m))
}

// linesTable is one row a season and a row of sums.
func linesTable(p *i18n.Printer, lines []report.Line) reportTable {
	t := reportTable{name: "seasons", columns: []string{"site", "tank", "season", "lot", "species", "supplier",
		"started", "closed",
		"delivered", "moved_in", "dead", "dead_eggs", "dead_alevins", "dead_fry", "moved_out", "sampled", "released",
		"unexplained", "alive",
		"survival_percent", "survival_low_percent", "survival_high_percent", "degree_hours", "days_due", "days_checked",
		"checked_percent", "longest_gap", "late", "late_percent", "corrected", "corrected_percent"}}
	row := func(l *report.Line, head ...any) {
		c, s := &l.Completeness, &l.Totals
		cells := append(head, s.Delivered, s.MovedIn, s.Dead, l.Deaths.Eggs, l.Deaths.Alevins, l.Deaths.Fry, s.MovedOut,
			s.Sampled, s.Released, s.Unexplained, s.Alive)
		if l.ShareOK {
			cells = append(cells, percent1(l.Share.Estimate), percent1(l.Share.Exact.Lower),
				percent1(l.Share.Exact.Upper))
		} else {
			cells = append(cells, nil, nil, nil)
		}
		var hours any
		if l.DegreeHours.OK {
			hours = units.Round(l.DegreeHours.V, 1)
		}
		t.rows = append(t.rows, append(cells, hours, c.DaysDue, c.DaysChecked, percent1(c.Share), c.LongestGap, c.Late,
			units.Round(c.LatePct, 1),
			c.Corrected, units.Round(c.CorrectedPct, 1)))
	}
	for i := range lines {
		l := &lines[i]
		s := l.Season
		row(l, s.Site.Name, s.Tank.Name, s.Label, s.Lot.Code, p.T(s.Lot.Species.MessageKey()), s.Lot.Supplier,
			s.StartedOn(), s.ClosedOn)
	}
	sum := report.Sum(lines)
	row(&sum, p.T("seasonreport.sum"), "", "", "", "", "", nil, nil)
	return t
}

// percent1 is a share of 1 as a percentage to one decimal.
func percent1(share float64) float64 { return units.Round(100*share, 1) }
