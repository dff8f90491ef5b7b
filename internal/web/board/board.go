package board

import (
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"reddside/internal/assess"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// boardPageSize is how many tanks one page of the board shows.
const boardPageSize = 100

// boardRoutes are the pages of all tanks.
func (s *Service) boardRoutes(r chi.Router) {
	r.Get("/board", s.Page(s.boardShow))
}

func (s *Service) boardShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	all, err := s.Assess.BoardEntries(r.Context(), v.Actor, v.Now)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	choice := readBoardChoice(q)
	m := Board{Page: s.NewPage(r, "board.title", "board"), MaySetUp: v.Actor.Role != logbook.Class}
	m.Styles = []string{"pieces.css", "flags.css", "board.css"}
	m.Filters, m.Counts = boardOptions(v.P, all, choice), boardCounts(all)
	entries := choice.Filter(all)
	choice.Sort(entries)
	page, pages := pageOf(q.Get("page"), len(entries))
	m.Total, m.All = len(entries), len(all)
	m.Prev, m.Next = pageLinks(choice, page, pages)
	first, last := (page-1)*boardPageSize, min(page*boardPageSize, len(entries))
	if pages > 1 {
		m.Range = v.P.T("board.range", logbook.Args{"From": first + 1, "To": last, "Count": len(entries)})
	}
	shown := entries[first:last]
	rows, scale := s.boardRows(v, shown)
	m.Scale = scale
	s.boardNews(w, r, &m, all, shown, rows)
	if err := s.boardNotes(r, &m, shown, rows); err != nil {
		return err
	}
	m.Groups = choice.boardGroups(v.P, entries, shown, rows)
	if v.Actor.Role == logbook.Coordinator {
		views, err := s.DB.BoardViews(r.Context())
		if err != nil {
			return err
		}
		for _, k := range views {
			m.Views = append(m.Views, BoardView{Name: k.Name, Href: "/board?" + k.Query})
		}
		if query := choice.query().Encode(); query != "" {
			m.SaveView = "/board/views?" + query
		}
	}
	return s.Render(w, r, http.StatusOK, BoardPage(m))
}

// boardCounts counts the tanks of each status.
func boardCounts(all []*assess.BoardEntry) (counts []StatusCount) {
	n := map[rules.Status]int{}
	for _, e := range all {
		n[e.Assessment.Status]++
	}
	for _, st := range BoardStatuses() {
		counts = append(counts, StatusCount{Status: st, N: n[st]})
	}
	return counts
}

func pageOf(asked string, n int) (page, pages int) {
	pages = max(1, (n+boardPageSize-1)/boardPageSize)
	page, err := strconv.Atoi(asked)
	if err != nil || page < 1 {
		page = 1
	}
	return min(page, pages), pages
}

func pageLinks(c BoardChoice, page, pages int) (prev, next string) {
	link := func(n int) string {
		if n < 1 || n > pages {
			return ""
		}
		q := c.query()
		q.Set("page", strconv.Itoa(n))
		return "/board?" + q.Encode()
	}
	return link(page - 1), link(page + 1)
}

// boardRows writes the rows in the reader's language and unit, their
// temperatures on one common scale.
func (s *Service) boardRows(v *req.Info, entries []*assess.BoardEntry) (rows []BoardRow, scale string) {
	var temps [][]rules.DayTemperature
	for _, e := range entries {
		temps = append(temps, e.Assessment.Temperatures)
	}
	sc := ui.NewSparkScale(temps)
	for _, e := range entries {
		rows = append(rows, boardRowView(v, e, sc))
	}
	if len(rows) > 0 {
		scale = v.P.T("board.scale", map[string]any{"Low": sc.Low, "High": sc.High})
	}
	return rows, scale
}

func boardRowView(v *req.Info, e *assess.BoardEntry, sc ui.SparkScale) BoardRow {
	a, p := &e.Assessment, v.P
	row := BoardRow{
		ID: string(e.SeasonID), Tank: e.Tank.Name, Site: e.Site.Name, Status: a.Status, Checked: a.CheckedToday,
		Dead: p.Count(a.DeadThisWeek), DeadAny: a.DeadThisWeek > 0,
		Spark: ui.NewSparkline(p, a.Temperatures, sc, units.None[units.Celsius]()),
		Ruler: ui.NewRuler(p, e.Ruler),
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
	row.Stage = words.StageWords(p, a.Stage)
	if a.Next.Event != "" && !a.Next.P50.IsZero() {
		row.Next = p.T("board.next."+string(a.Next.Event),
			map[string]any{"When": ui.DateSpan(p, a.Next.P10, a.Next.P90)})
	} else if !e.Forecast.Ok() {
		row.Next = p.T("board.no_forecast")
	}
	for i := range a.Flags {
		if f := &a.Flags[i]; f.Kind != rules.Note && !e.Life.Rest[assess.FlagPlace{Rule: f.Rule, Subject: f.Subject}] {
			row.Why = p.T(f.Headline.Key, f.Headline.Args)
			row.More = len(a.Flags) - 1 - e.Life.Aside
			row.Anchor = e.Life.Anchor(f)
			break
		}
	}
	row.Unseen, row.Aside, row.Ended = e.Life.Unseen, e.Life.Aside, e.Life.Ended
	return row
}
