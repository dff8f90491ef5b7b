package school

import (
	"cmp"
	"net/http"
	"slices"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// yearRoutes are the coordinator's look at the whole year: what comes when in
// which tank, and the turn of the year.
func (s *Service) yearRoutes(r chi.Router) {
	r.Get("/programme/calendar", s.Page(s.yearCalendarShow))
	r.Get("/programme/calendar.csv", s.Page(s.yearCalendarCSV))
	r.Get("/programme/new-year", s.Page(s.newYearShow))
	r.Post("/programme/new-year", s.Page(s.newYearEnd))
}

// yearKind is what comes in a tank.
type yearKind string

const (
	yearHatch   yearKind = "hatch"
	yearSwimUp  yearKind = "swim_up"
	yearRelease yearKind = "release"
)

func yearKinds() []yearKind { return []yearKind{yearHatch, yearSwimUp, yearRelease} }

// yearItem is one thing to come. Day is the most likely day, and the first
// permitted one of a release.
type yearItem struct {
	kind          yearKind
	entry         *assess.BoardEntry
	from, day, to civil.Date
	late          bool // swim-up may come after the last permitted day of release
}

// yearItems lists what is to come in the tanks from their own today on. What has
// been seen is over.
func yearItems(all []*assess.BoardEntry) []yearItem {
	var out []yearItem
	for _, e := range all {
		if e.Gone {
			continue
		}
		window := func(kind yearKind, w *forecast.Window) {
			if w.P50.IsZero() || w.Observed != (forecast.Interval{}) || w.P90.Before(e.Today) {
				return
			}
			out = append(out, yearItem{kind: kind, entry: e, from: w.P10, day: w.P50, to: w.P90})
		}
		window(yearHatch, &e.Forecast.Hatch)
		window(yearSwimUp, &e.Forecast.SwimUp)
		by := e.ReleaseBy
		if e.ReleaseFrom.IsZero() && by.IsZero() || !by.IsZero() && by.Before(e.Today) {
			continue
		}
		x := yearItem{kind: yearRelease, entry: e, from: e.ReleaseFrom, day: e.ReleaseFrom, to: by}
		if x.day.IsZero() {
			x.from, x.day = by, by
		}
		if x.to.IsZero() {
			x.to = x.day
		}
		swim := &e.Forecast.SwimUp
		x.late = swim.Observed == (forecast.Interval{}) && !by.IsZero() && (swim.Never || swim.P90.After(by))
		out = append(out, x)
	}
	slices.SortStableFunc(out, func(a, b yearItem) int {
		return cmp.Or(a.day.Compare(b.day), cmp.Compare(a.entry.Site.Name, b.entry.Site.Name),
			cmp.Compare(a.entry.Tank.Name, b.entry.Tank.Name))
	})
	return out
}

// Monday is the first day of a day's week.
func Monday(d civil.Date) civil.Date {
	return d.AddDays(-((int(d.Weekday()) - int(time.Monday) + 7) % 7))
}

func (s *Service) yearCalendarShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	all, err := s.Assess.BoardEntries(r.Context(), v.Actor, v.Now)
	if err != nil {
		return err
	}
	m := YearCalendar{Page: s.NewPage(r, "yearplan.title", "board")}
	m.Styles = []string{"pieces.css", "board.css"}
	items := yearItems(all)
	var lateTanks int
	for _, x := range items {
		if x.late {
			lateTanks++
		}
	}
	if lateTanks > 0 {
		m.Late = v.P.T("yearplan.late_count", logbook.Args{"Count": lateTanks})
	}
	m.Weeks, m.Most = yearWeeks(v.P, items)
	return s.Render(w, r, http.StatusOK, YearCalendarPage(m))
}

// yearWeeks puts the items into weeks, and tells the largest number in one cell.
// A window that has begun stands in the week in which it is most likely.
func yearWeeks(p *i18n.Printer, items []yearItem) (weeks []YearWeek, most int) {
	var last civil.Date
	for _, x := range items {
		on := Monday(x.day)
		if len(weeks) == 0 || on != last {
			week := YearWeek{Name: p.T("yearplan.week", logbook.Args{"Monday": on}),
				Cells: make([]YearCell, len(yearKinds()))}
			weeks, last = append(weeks, week), on
		}
		cell := &weeks[len(weeks)-1].Cells[slices.Index(yearKinds(), x.kind)]
		row := YearItem{Href: ui.SeasonPath(x.entry.SeasonID), Tank: x.entry.Tank.Name, Site: x.entry.Site.Name,
			When: ui.DateSpan(p, x.from, x.to)}
		if x.late {
			row.Late = p.T("yearplan.late")
		}
		cell.Items = append(cell.Items, row)
		most = max(most, len(cell.Items))
	}
	return weeks, most
}

// yearCalendarCSV gives the same as a file, dates as YYYY-MM-DD.
func (s *Service) yearCalendarCSV(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	all, err := s.Assess.BoardEntries(r.Context(), v.Actor, v.Now)
	if err != nil {
		return err
	}
	rows := [][]string{{"site", "tank", "lot", "species", "event", "from", "most_likely", "to", "release_at_risk"}}
	for _, x := range yearItems(all) {
		late := ""
		if x.kind == yearRelease {
			late = map[bool]string{true: "yes", false: "no"}[x.late]
		}
		rows = append(rows, []string{x.entry.Site.Name, x.entry.Tank.Name, x.entry.Lot.Code,
			string(x.entry.Lot.Species), string(x.kind),
			x.from.String(), x.day.String(), x.to.String(), late})
	}
	return req.WriteCSV(w, "programme-calendar", v.Programme.Name, rows)
}
