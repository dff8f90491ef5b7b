package imports

import (
	"cmp"
	"fmt"
	"math"
	"net/http"
	"reflect"
	"slices"
	"time"

	"reddside/internal/civil"
	"reddside/internal/entries"
	"reddside/internal/i18n"
	"reddside/internal/ingest"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// ChecksPlan is what becomes of a logbook file in one season. Nothing is stored
// while Wrong holds anything.
type ChecksPlan struct {
	Rows        []store.LogRow
	Known       int // checks that are in the log already
	First, Last civil.Date
	Wrong       []CheckProblem
	Surprise    []CheckProblem // possible but unusual: a person confirms them
}

// CheckProblem is something about a line of a logbook file.
type CheckProblem struct {
	Line  int
	Field string
	Key   string
	Args  logbook.Args
}

// PlanChecks looks at the checks of a file as if they were entered one after the
// other, in the order of their days.
func PlanChecks(season *logbook.Season, rows []ingest.CheckRow, today civil.Date, actor logbook.Actor,
	now time.Time) ChecksPlan {
	var p ChecksPlan
	log := *season
	log.Checks = slices.Clone(season.Checks)
	rows = slices.Clone(rows)
	slices.SortStableFunc(rows, func(a, b ingest.CheckRow) int { return checkOrder(a.Check, b.Check) })
	for _, row := range rows {
		c := row.Check
		c.ID = logbook.NewID()
		entries.NotFitted(&c, season.Tank)
		if have := words.CheckAt(&log, c.On, c.Slot); have != nil {
			if sameLook(*have, c, season.Tank) {
				p.Known++
			} else {
				p.Wrong = append(p.Wrong, CheckProblem{row.Line, "on", "import.check.taken", logbook.Args{"On": c.On}})
			}
			continue
		}
		hard := false
		for _, x := range c.Validate(logbook.CheckContext{Season: &log, Today: today}) {
			at := CheckProblem{row.Line, x.Field, x.Key, x.Args}
			if x.Soft {
				p.Surprise = append(p.Surprise, at)
				c.Confirmed = append(c.Confirmed, x.Field)
			} else {
				p.Wrong, hard = append(p.Wrong, at), true
			}
		}
		if hard {
			continue
		}
		i, _ := slices.BinarySearchFunc(log.Checks, c, checkOrder)
		log.Checks = slices.Insert(log.Checks, i, c)
		p.Rows = append(p.Rows, store.LogRow{Check: &c, By: actor, At: now})
		if p.First.IsZero() {
			p.First = c.On
		}
		p.Last = c.On
	}
	byLine := func(a, b CheckProblem) int { return cmp.Compare(a.Line, b.Line) }
	slices.SortStableFunc(p.Wrong, byLine)
	slices.SortStableFunc(p.Surprise, byLine)
	return p
}

func checkOrder(a, b logbook.Check) int {
	return cmp.Or(a.On.Compare(b.On), cmp.Compare(a.Slot.Order(), b.Slot.Order()))
}

// sameLook reports whether two checks say the same, however it was written. An
// export rounds temperatures to hundredths.
func sameLook(a, b logbook.Check, t logbook.Tank) bool {
	for _, c := range []*logbook.Check{&a, &b} {
		entries.NotFitted(c, t)
		c.ID, c.SeasonID, c.Entry, c.Confirmed = "", "", logbook.Entry{}, nil
		c.TemperatureEntered, c.TemperatureUnit = "", ""
	}
	if a.Temperature.OK && b.Temperature.OK && math.Abs(float64(a.Temperature.V-b.Temperature.V)) <= 0.005 {
		a.Temperature = b.Temperature
	}
	return reflect.DeepEqual(a, b)
}

// renderChecks shows what a waiting logbook file holds.
func (s *Service) renderChecks(w http.ResponseWriter, r *http.Request, status int, season *logbook.Season, u *Upload,
	problems []logbook.Problem) error {
	rows, wrong, err := ingest.ReadChecks(u.Data)
	if err != nil {
		return err // such a file was refused before it was kept
	}
	plan := PlanChecks(season, rows, s.todayOf(r, season), req.Of(r).Actor, req.Of(r).Now)
	m := ImportChecks{ImportHead: s.importHead(r, "import.checks.preview", season),
		File: fileLabel(req.Of(r).P, u.Name)}
	m.Action = m.BackHref + "/" + u.ID
	m.Error = len(problems) > 0
	m.Problems = form.ShowProblems(m.P, problems, func(string) string { return m.T("import.checks.confirm_label") })
	for _, x := range wrong {
		m.Wrong.Rows = append(m.Wrong.Rows, ImportRow{Line: m.P.Count(x.Line), Column: columnWords(m.P, x),
			Text: m.T(x.Key, wordArgs(x.Args)), Raw: x.Raw})
	}
	label := words.CheckLabel(m.P)
	row := func(x CheckProblem) ImportRow {
		return ImportRow{Line: m.P.Count(x.Line), Column: label(x.Field), Text: m.T(x.Key, x.Args)}
	}
	for _, x := range plan.Wrong {
		m.Wrong.Rows = append(m.Wrong.Rows, row(x))
	}
	for _, x := range plan.Surprise {
		m.Surprise.Rows = append(m.Surprise.Rows, row(x))
	}
	bounded(m.P, &m.Wrong)
	bounded(m.P, &m.Surprise)
	if len(wrong) == 0 {
		m.Counts = checkFacts(m.P, plan)
	}
	if len(m.Wrong.Rows) == 0 && len(plan.Rows) > 0 {
		m.Store = m.T("import.checks.store", map[string]any{"Count": len(plan.Rows)})
	}
	return s.Render(w, r, status, ImportChecksView(m))
}

func checkFacts(p *i18n.Printer, plan ChecksPlan) []ui.Fact {
	out := []ui.Fact{{Label: p.T("import.fact.checks_new"), Value: p.Count(len(plan.Rows))},
		{Label: p.T("import.fact.checks_known"), Value: p.Count(plan.Known)}}
	if len(plan.Rows) > 0 {
		out = append(out, ui.Fact{Label: p.T("import.fact.first"), Value: p.Date(plan.First)},
			ui.Fact{Label: p.T("import.fact.last"), Value: p.Date(plan.Last)})
	}
	return out
}

// columnWords names a column by its heading, else by its number.
func columnWords(p *i18n.Printer, x ingest.Problem) string {
	if name, ok := x.Args["Name"].(string); ok && name != "" {
		return name
	}
	if x.Column == 0 {
		return p.T("import.whole_line")
	}
	return fmt.Sprint(x.Column)
}

func bounded(p *i18n.Printer, v *ImportRows) {
	if more := len(v.Rows) - shownLines; more > 0 {
		v.Rows = v.Rows[:shownLines]
		v.More = p.T("import.more_lines", map[string]any{"Count": more})
	}
}

// storeChecks stores every check of a file, or none.
func (s *Service) storeChecks(w http.ResponseWriter, r *http.Request, season *logbook.Season, u *Upload,
	f *form.Form) error {
	v := req.Of(r)
	rows, wrong, err := ingest.ReadChecks(u.Data)
	if err != nil {
		return err
	}
	plan := PlanChecks(season, rows, s.todayOf(r, season), v.Actor, v.Now)
	if len(wrong)+len(plan.Wrong) > 0 {
		return s.renderChecks(w, r, http.StatusUnprocessableEntity, season, u, nil)
	}
	if len(plan.Surprise) > 0 && f.Text("confirm") != "yes" {
		return s.renderChecks(w, r, http.StatusUnprocessableEntity, season, u,
			[]logbook.Problem{{Field: "confirm", Key: "import.checks.look"}})
	}
	after, err := s.Assess.FlagsAfter(r.Context(), season, v.Now)
	if err != nil {
		return err
	}
	n, _, err := s.DB.SaveLog(r.Context(), v.Actor, season.ID, plan.Rows, v.Now, after)
	if err != nil {
		return err
	}
	if n == 0 {
		s.SetNotice(r, v.P.T("import.checks.again"))
	} else {
		s.SetNotice(r, v.P.T("import.checks.stored", logbook.Args{"Count": n}))
	}
	http.Redirect(w, r, ui.SeasonPath(season.ID), http.StatusSeeOther)
	return nil
}
