package class

import (
	"net/http"
	"slices"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// How far back looks of others are shown, and how many.
const (
	classLookDays = 10
	classLooks    = 8
)

// classStage lets pupils choose a stage and compares it with what others saw and
// with the forecast. Nothing is stored: what counts is the daily check.
func (s *Service) classStage(w http.ResponseWriter, r *http.Request) error {
	a, err := s.classAssessed(r)
	if err != nil {
		return err
	}
	page, top := s.classPage(r, a.Season, "class.stage.title", classStagePath)
	p := page.P
	m := ClassStage{Page: page, Top: top, Action: ui.SeasonPath(a.Season.ID, classStagePath)}
	if pick := logbook.Stage(r.URL.Query().Get("pick")); pick.Order() > 0 {
		m.Picked = pick
	}
	m.Stages = logbook.StagesAbout(a.Assessment.Stage.Stage, m.Picked)
	looks := classLooksOf(a)
	expected := classExpected(a)
	m.Looks = classLookTable(p, looks)
	seen := classStagesSeen(looks)
	switch len(seen) {
	case 0:
		m.NoLooks = p.T("class.stage.no_looks", logbook.Args{"Count": classLookDays})
	case 1:
		m.Agree = p.T("class.stage.agree", logbook.Args{"Stage": seen[0]})
	default:
		m.Agree = p.T("class.stage.disagree")
	}
	m.Expected = classExpectedWords(p, a, expected)
	m.Result = classPickWords(p, m.Picked, seen, expected)
	m.LookFor = classLookFor(p, m.Picked, seen, expected)
	return s.Render(w, r, http.StatusOK, ClassStagePage(m))
}

// classLooksOf are the newest checks that say something about the stage, newest
// first.
func classLooksOf(a assess.Result) []logbook.Check {
	var out []logbook.Check
	for i := len(a.Season.Checks) - 1; i >= 0 && len(out) < classLooks; i-- {
		c := a.Season.Checks[i]
		if c.On.After(a.Today) || a.Today.Sub(c.On) > classLookDays || c.Stage == "" && c.Hatched == "" {
			continue
		}
		out = append(out, c)
	}
	return out
}

// classGroup is who looked: the group, or else the role, never an account.
func classGroup(p *i18n.Printer, c *logbook.Check) string {
	if c.Observer != "" {
		return c.Observer
	}
	return words.Word(p, c.By)
}

func classLookTable(p *i18n.Printer, looks []logbook.Check) ui.DataTable {
	t := ui.DataTable{Caption: p.T("class.stage.table")}
	for _, key := range []string{"day", "group", "stage", "hatched"} {
		t.Columns = append(t.Columns, ui.DataColumn{Label: p.T("class.stage.col." + key)})
	}
	for i := range looks {
		c := &looks[i]
		row := []string{p.DateWeekday(c.On), classGroup(p, c), "–", "–"}
		if c.Stage != "" {
			row[2] = p.T(c.Stage.MessageKey())
		}
		if c.Hatched != "" {
			row[3] = p.T(c.Hatched.MessageKey())
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// classStagesSeen are the different stages that the looks of the last three days
// with a stage name, in order of life.
func classStagesSeen(looks []logbook.Check) []logbook.Stage {
	var out []logbook.Stage
	var days []civil.Date
	for i := range looks {
		c := &looks[i]
		if c.Stage == "" {
			continue
		}
		if !slices.Contains(days, c.On) {
			if len(days) == 3 {
				break
			}
			days = append(days, c.On)
		}
		if !slices.Contains(out, c.Stage) {
			out = append(out, c.Stage)
		}
	}
	slices.SortFunc(out, func(x, y logbook.Stage) int { return x.Order() - y.Order() })
	return out
}

// classExpected are the stages that the forecast allows today, in order of life:
// two while the window between them is open, one otherwise, none without one.
func classExpected(a assess.Result) []logbook.Stage {
	f := &a.Forecast
	if !f.Ok() {
		return nil
	}
	out := []logbook.Stage{logbook.GreenEgg}
	for _, x := range []struct {
		w     *forecast.Window
		stage logbook.Stage
	}{{&f.Eyed, logbook.EyedEgg}, {&f.Hatch, logbook.Alevin}, {&f.SwimUp, logbook.Fry}} {
		switch {
		case x.w.BeforeStart || x.w.Ok() && f.Today.After(x.w.P90):
			out = []logbook.Stage{x.stage}
		case x.w.Ok() && !f.Today.Before(x.w.P10):
			out = append(out, x.stage)
		}
	}
	return out
}

func classExpectedWords(p *i18n.Printer, a assess.Result, expected []logbook.Stage) []string {
	switch len(expected) {
	case 0:
		return []string{p.T("class.stage.no_forecast")}
	case 1:
		out := []string{p.T("class.stage.expect_one", logbook.Args{"Stage": expected[0]})}
		if n := a.Assessment.Next; n.Event != "" && !n.P50.IsZero() && n.P50.After(a.Today) {
			out = append(out, p.T("class.stage.next."+string(n.Event), logbook.Args{"From": p.DayMonth(n.P10),
				"To": p.DayMonth(n.P90)}))
		}
		return append(out, p.T("class.stage.sum"))
	}
	return []string{p.T("class.stage.expect_two", logbook.Args{"One": expected[len(expected)-2],
		"Two": expected[len(expected)-1]}),
		p.T("class.stage.both"), p.T("class.stage.sum")}
}

// classPickWords answers a choice: with the forecast, with others, or neither.
func classPickWords(p *i18n.Printer, pick logbook.Stage, seen, expected []logbook.Stage) []string {
	if pick == "" {
		return nil
	}
	out := []string{p.T("class.stage.you", logbook.Args{"Stage": pick})}
	switch {
	case len(seen) == 0:
		out = append(out, p.T("class.stage.first"))
	case slices.Contains(seen, pick):
		out = append(out, p.T("class.stage.others_too"))
	default:
		out = append(out, p.T("class.stage.others_not"))
	}
	switch {
	case len(expected) == 0:
	case slices.Contains(expected, pick):
		out = append(out, p.T("class.stage.fits"))
	default:
		out = append(out, p.T("class.stage.not_yet"))
	}
	return out
}

// classLookFor says how to tell neighbouring stages apart, wherever the choice,
// the looks and the forecast do not all say the same.
func classLookFor(p *i18n.Printer, pick logbook.Stage, seen, expected []logbook.Stage) []ClassLookFor {
	all := append(slices.Clone(seen), expected...)
	if pick != "" {
		all = append(all, pick)
	}
	if len(all) == 0 {
		return nil
	}
	low, high := len(logbook.Stages()), 1
	for _, s := range all {
		low, high = min(low, s.Order()), max(high, s.Order())
	}
	var out []ClassLookFor
	stages := logbook.Stages()
	for i := low; i < high; i++ {
		out = append(out, ClassLookFor{From: stages[i-1], To: stages[i],
			Text: p.T("class.look_for." + string(stages[i]))})
	}
	return out
}
