package reports

import (
	"errors"
	"io"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/words"
)

// releasesRoutes are the releases of a year: of a keeper's school, or of all.
func (s *Service) releasesRoutes(r chi.Router) { r.Get("/releases", s.Page(s.releasesShow)) }

// releasesFormRoutes write them in the columns of somebody else's form.
func (s *Service) releasesFormRoutes(r chi.Router) { r.Post("/releases", s.Page(s.releasesForm)) }

// releases are the releases of one year that somebody may see.
type releases struct {
	year     string
	years    []string
	lines    []report.ReleaseLine
	receipts []report.Receipt
}

// releasesOf loads a year, the newest for one without releases.
func (s *Service) releasesOf(r *http.Request, year string) (x releases, err error) {
	v, ctx := req.Of(r), r.Context()
	if x.years, err = s.DB.ReleaseYears(ctx); err != nil || len(x.years) == 0 {
		return x, err
	}
	if x.year = year; !slices.Contains(x.years, year) {
		x.year = x.years[0]
	}
	permits, err := s.DB.Permits(ctx)
	if err != nil {
		return x, err
	}
	places, err := s.DB.ReleasePlaces(ctx)
	if err != nil {
		return x, err
	}
	ids, err := s.DB.ReleaseSeasons(ctx, v.Actor.SiteID, x.year)
	if err != nil {
		return x, err
	}
	var seasons []*logbook.Season
	today := map[logbook.ID]civil.Date{}
	err = s.DB.LoadSeasons(ctx, ids, func(season *logbook.Season) error {
		for _, l := range report.ReleaseLines(season, permits, places) {
			if strings.HasPrefix(l.On.String(), x.year) {
				x.lines = append(x.lines, l)
			}
		}
		seasons = append(seasons, season)
		today[season.ID] = s.Assess.Today(season.Site, v.Now)
		return nil
	})
	report.SortReleases(x.lines)
	x.receipts = report.ReceiptsOf(seasons, permits, today)
	return x, err
}

// releaseColumns are the columns of the table, for programs and for mapping files.
var releaseColumns = []string{"on", "permit", "water", "place", "coordinates", "fish", "mean_g", "mean_mm", "species_key",
	"species", "stock", "lot", "origin", "site", "tank", "deviation_codes", "deviation", "deviation_why", "event_id",
	"season_id"}

func releaseRows(p *i18n.Printer, lines []report.ReleaseLine) [][]any {
	var out [][]any
	for i := range lines {
		l := &lines[i]
		out = append(out, []any{l.On, l.Permit, l.Water, l.Place, l.Coordinates, l.Count, optAny(l.MeanG), optAny(l.MeanMM),
			string(l.Species), p.T(l.Species.MessageKey()), l.Stock, l.Lot, l.Origin, l.School, l.Tank, l.Deviations,
			words.Deviations(p, l.Deviations), l.Why, string(l.Event), string(l.Season)})
	}
	return out
}

// releaseTables are the three tables: releases, totals and receipts. Codes stand beside
// translated words; none has a row of sums.
func releaseTables(p *i18n.Printer, x releases) map[string]*reportTable {
	out := map[string]*reportTable{
		"releases": {name: "releases", columns: releaseColumns, rows: releaseRows(p, x.lines)},
		"totals": {name: "totals", columns: []string{"species_key", "species", "by_key", "by", "name", "tanks", "fish",
			"deviations"}},
		"receipts": {name: "receipts", columns: []string{"permit", "species_key", "species", "tanks", "delivered",
			"moved_in", "dead", "moved_out", "sampled", "released", "unexplained", "alive"}}}
	for _, t := range report.ReleaseTotals(x.lines) {
		out["totals"].rows = append(out["totals"].rows, []any{string(t.Species), p.T(t.Species.MessageKey()), t.By,
			p.T("releases.by_" + t.By), t.Name, t.Tanks, t.Fish, t.Deviations})
	}
	for _, r := range x.receipts {
		out["receipts"].rows = append(out["receipts"].rows, []any{r.Permit, string(r.Species),
			p.T(r.Species.MessageKey()), r.Tanks, r.Delivered, r.MovedIn, r.Dead, r.MovedOut, r.Sampled, r.Released,
			r.Unexplained, r.Alive})
	}
	return out
}

func (s *Service) releasesShow(w http.ResponseWriter, r *http.Request) error {
	x, err := s.releasesOf(r, r.URL.Query().Get("year"))
	if err != nil {
		return err
	}
	tables := releaseTables(req.Of(r).P, x)
	for name, t := range tables {
		if r.URL.Query().Get("table") == name {
			if done, err := s.reportCSV(w, r, req.Of(r).P, name, x.year, t.records()); done || err != nil {
				return err
			}
		}
	}
	if done, err := s.reportCSV(w, r, req.Of(r).P, "releases", x.year, tables["releases"].records()); done || err != nil {
		return err
	}
	return s.renderReleases(w, r, http.StatusOK, x, nil)
}

// renderReleases shows the page; problems are those of a mapping file.
func (s *Service) renderReleases(w http.ResponseWriter, r *http.Request, status int, x releases,
	problems []logbook.Problem) error {
	v := req.Of(r)
	m := ReleasesPage{Page: s.reportPage(r, "releases.title"), Year: x.year, Years: x.years,
		MayMap: v.Actor.Role == logbook.Coordinator, Columns: strings.Join(releaseColumns, ", ")}
	m.Error = len(problems) > 0
	m.Problems = form.ShowProblems(v.P, problems, func(string) string { return v.P.T("releases.mapping") })
	if x.year != "" {
		m.Title = v.P.T("releases.title_year", logbook.Args{"Year": x.year})
	}
	var err error
	if m.State, err = s.state(r, "releases.state", len(x.lines)); err != nil {
		return err
	}
	tables := releaseTables(v.P, x)
	for _, part := range []struct {
		id      string
		columns []string
	}{{"releases", []string{"on", "permit", "water", "place", "coordinates", "fish", "mean_g", "mean_mm", "species",
		"stock", "lot", "origin", "site", "tank", "deviation", "deviation_why"}},
		{"totals", []string{"species", "by", "name", "tanks", "fish", "deviations"}},
		{"receipts", []string{"permit", "species", "tanks", "delivered", "moved_in", "dead", "moved_out", "sampled",
			"released", "unexplained", "alive"}}} {
		m.Sections = append(m.Sections, ReportSection{ID: part.id, Title: v.P.T("seasonreport.part." + part.id),
			Table: tables[part.id].only(part.id, part.columns).view(v.P), Notes: []string{v.P.T("releases.note_" + part.id)}})
	}
	return s.Render(w, r, status, ReleasesPageView(m))
}

// state says when a report was written, and which entry was the last.
func (s *Service) state(r *http.Request, key string, count int) (string, error) {
	v := req.Of(r)
	last, err := s.DB.LastWrite(r.Context())
	return v.P.T(key, map[string]any{"Made": instant(v.P, v.Now), "Last": instant(v.P, last), "Count": count}), err
}

// instant writes a moment by the clock of the world: a programme has many zones.
func instant(p *i18n.Printer, t time.Time) string {
	t = t.UTC()
	return p.Date(civil.In(t, time.UTC)) + ", " + t.Format("15:04") + " UTC"
}

// releasesForm answers with the releases in the columns of a mapping file.
func (s *Service) releasesForm(w http.ResponseWriter, r *http.Request) error {
	var data []byte
	file, _, err := r.FormFile("mapping")
	switch {
	case err == nil:
		defer func() { _ = file.Close() }()
		if data, err = io.ReadAll(io.LimitReader(file, report.MaxMapping+1)); err != nil {
			return err
		}
	case !errors.Is(err, http.ErrMissingFile) && !errors.Is(err, http.ErrNotMultipart):
		return err
	}
	x, err := s.releasesOf(r, r.PostFormValue("year"))
	if err != nil {
		return err
	}
	mapped, problems := report.ParseMapping(data, releaseColumns)
	if len(problems) > 0 {
		return s.renderReleases(w, r, http.StatusUnprocessableEntity, x, problems)
	}
	head, places := []any{}, []int{}
	for _, m := range mapped {
		head, places = append(head, m.Name), append(places, slices.Index(releaseColumns, m.Column))
	}
	rows := [][]any{head}
	for _, row := range releaseRows(req.Of(r).P, x.lines) {
		var cells []any
		for _, i := range places {
			cells = append(cells, row[i])
		}
		rows = append(rows, cells)
	}
	return s.csvFile(w, CSVDialect{}, req.Of(r).P, "releases-form", x.year, rows)
}
