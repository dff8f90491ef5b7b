package web

import (
	"cmp"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
	"reddside/internal/web/view"
)

// boardPageSize is how many tanks one page of the board shows.
const boardPageSize = 100

// boardRoutes are the pages of all tanks.
func (s *Server) boardRoutes(r chi.Router) {
	r.Get("/board", s.page(s.boardShow))
}

func (s *Server) boardShow(w http.ResponseWriter, r *http.Request) error {
	v := visitOf(r)
	all, err := s.boardEntries(r.Context(), v.actor, v.now)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	site, status := logbook.ID(q.Get("site")), rules.Status(q.Get("status"))
	m := view.Board{Page: s.newPage(r, "board.title", "board"), Site: string(site), Status: string(status), MaySetUp: v.actor.Role != logbook.Class}
	m.Styles = []string{"pieces.css", "flags.css", "board.css"}
	m.Sites, m.Counts = boardChoices(v, all)
	entries := filterBoard(all, site, status)
	sortBoard(entries)
	page, pages := pageOf(q.Get("page"), len(entries))
	m.Total, m.All = len(entries), len(all)
	m.Prev, m.Next = pageLinks(q, page, pages)
	shown := entries[(page-1)*boardPageSize : min(page*boardPageSize, len(entries))]
	m.Rows, m.Scale = s.boardRows(v, shown)
	s.boardNews(w, r, &m, all, shown)
	return s.render(w, r, http.StatusOK, view.BoardPage(m))
}

// boardChoices lists the schools to filter by, and how many tanks have each
// status.
func boardChoices(v *visit, all []*boardEntry) (sites []view.Option, counts []view.StatusCount) {
	seen := map[logbook.ID]bool{}
	n := map[rules.Status]int{}
	for _, e := range all {
		if !seen[e.Site.ID] {
			seen[e.Site.ID] = true
			sites = append(sites, view.Option{Value: string(e.Site.ID), Label: e.Site.Name})
		}
		n[e.Assessment.Status]++
	}
	for _, st := range []rules.Status{rules.StatusAct, rules.StatusWatch, rules.StatusNoCheck, rules.StatusFine} {
		counts = append(counts, view.StatusCount{Status: st, N: n[st]})
	}
	slices.SortFunc(sites, func(a, b view.Option) int { return cmp.Compare(a.Label, b.Label) })
	return sites, counts
}

func filterBoard(all []*boardEntry, site logbook.ID, status rules.Status) []*boardEntry {
	out := make([]*boardEntry, 0, len(all))
	for _, e := range all {
		if (site == "" || e.Site.ID == site) && (status == "" || e.Assessment.Status == status) {
			out = append(out, e)
		}
	}
	return out
}

// sortBoard puts the worst first; among equals the order stays by name, so that
// a tank keeps its place while nothing changes.
func sortBoard(entries []*boardEntry) {
	slices.SortStableFunc(entries, func(a, b *boardEntry) int {
		return cmp.Or(
			cmp.Compare(a.Assessment.Status.Order(), b.Assessment.Status.Order()),
			cmp.Compare(a.Site.Name, b.Site.Name),
			cmp.Compare(a.Tank.Name, b.Tank.Name),
			cmp.Compare(a.SeasonID, b.SeasonID))
	})
}

func pageOf(asked string, n int) (page, pages int) {
	pages = max(1, (n+boardPageSize-1)/boardPageSize)
	page, err := strconv.Atoi(asked)
	if err != nil || page < 1 {
		page = 1
	}
	return min(page, pages), pages
}

func pageLinks(q url.Values, page, pages int) (prev, next string) {
	link := func(n int) string {
		if n < 1 || n > pages {
			return ""
		}
		u := url.Values{"page": {strconv.Itoa(n)}}
		for _, k := range []string{"site", "status"} {
			if q.Get(k) != "" {
				u.Set(k, q.Get(k))
			}
		}
		return "/board?" + u.Encode()
	}
	return link(page - 1), link(page + 1)
}

// boardRows writes the rows in the reader's language and unit, their
// temperatures on one common scale.
func (s *Server) boardRows(v *visit, entries []*boardEntry) (rows []view.BoardRow, scale string) {
	var temps [][]rules.DayTemperature
	for _, e := range entries {
		temps = append(temps, e.Assessment.Temperatures)
	}
	sc := view.NewSparkScale(temps)
	for _, e := range entries {
		rows = append(rows, boardRow(v, e, sc))
	}
	if len(rows) > 0 {
		scale = v.p.T("board.scale", map[string]any{"Low": sc.Low, "High": sc.High})
	}
	return rows, scale
}

func boardRow(v *visit, e *boardEntry, sc view.SparkScale) view.BoardRow {
	a, p := &e.Assessment, v.p
	row := view.BoardRow{
		ID: string(e.SeasonID), Tank: e.Tank.Name, Site: e.Site.Name, Status: a.Status, Checked: a.CheckedToday,
		Dead: p.Count(a.DeadThisWeek), DeadAny: a.DeadThisWeek > 0,
		Spark: view.NewSparkline(p, a.Temperatures, sc, units.None[units.Celsius]()),
		Ruler: view.NewRuler(p, e.Ruler),
	}
	switch {
	case a.LastCheck.On.IsZero():
		row.LastCheck = p.T("board.never")
	case a.LastCheck.Age == 0:
		row.LastCheck = p.T("board.today")
	default:
		row.LastCheck = p.DateShort(a.LastCheck.On)
		row.Age = p.T("board.age", map[string]any{"Count": a.LastCheck.Age})
	}
	if !a.Temperature.On.IsZero() {
		row.Temperature = p.Temp(a.Temperature.Value)
	}
	if a.Stage.Stage != "" {
		row.Stage = p.T(a.Stage.Stage.MessageKey())
	}
	if a.Next.Event != "" && !a.Next.P50.IsZero() {
		row.Next = p.T("board.next."+string(a.Next.Event), map[string]any{"When": view.DateSpan(p, a.Next.P10, a.Next.P90)})
	} else if !e.Forecast.Ok() {
		row.Next = p.T("board.no_forecast")
	}
	for i := range a.Flags {
		if f := &a.Flags[i]; f.Kind != rules.Note && !e.Life.rest[flagPlace{f.Rule, f.Subject}] {
			row.Why = p.T(f.Headline.Key, f.Headline.Args)
			row.More = len(a.Flags) - 1 - e.Life.Aside
			row.Anchor = e.Life.anchor(f)
			break
		}
	}
	row.Unseen, row.Aside, row.Ended = e.Life.Unseen, e.Life.Aside, e.Life.Ended
	return row
}
