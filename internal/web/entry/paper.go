package entry

import (
	"net/http"
	"slices"
	"strconv"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// PaperPage is a check sheet on paper for one week of a site, in the order in which
// the round page takes the answers.
type PaperPage struct {
	ui.Page
	Site, SiteHref string
	Week           string
	Days           []string
	Tanks          []PaperTank
	Stages         []logbook.Stage
	Before, After  string // dates in other weeks; "" for none
}

// PaperTank is the rows of one tank.
type PaperTank struct {
	Tank string
	Rows []PaperRow
}

// PaperRow is one question with what can be answered, "" for a number.
type PaperRow struct{ Label, Answers string }

// paperShow shows the sheet of the week of a day, of today's when none is asked for.
func (s *Service) paperShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	site, err := s.SiteOf(r)
	if err != nil {
		return err
	}
	today := s.Assess.Today(site, v.Now)
	day, key := form.ParseDate(r.URL.Query().Get("on"))
	if key != "" {
		day = today
	}
	monday, this := mondayOf(day), mondayOf(today)
	tanks, err := s.roundTanks(r, site, day)
	if err != nil {
		return err
	}
	p := s.NewPage(r, "paper.title", "sites")
	p.P = s.InSite(v, site)
	p.Styles = []string{"pieces.css", "check.css", "keeper.css"}
	m := PaperPage{Page: p, Site: site.Name, SiteHref: ui.SitePath(site.ID), Week: p.P.Date(monday)}
	if monday.After(this) {
		m.Before = monday.AddDays(-7).String()
	}
	if monday.Before(this.AddDays(7 * paperWeeks)) {
		m.After = monday.AddDays(7).String()
	}
	for i := range 7 {
		d := monday.AddDays(i)
		_, _, n := d.YMD()
		m.Days = append(m.Days, p.T("weekday."+strconv.Itoa(int(d.Weekday())))+" "+strconv.Itoa(n))
	}
	for _, t := range tanks {
		m.Tanks = append(m.Tanks, paperTank(p, t))
		for _, stage := range logbook.StagesAbout(t.stage, "") {
			if !slices.Contains(m.Stages, stage) {
				m.Stages = append(m.Stages, stage)
			}
		}
	}
	return s.Render(w, r, http.StatusOK, PaperPageView(m))
}

// paperWeeks is for how many coming weeks sheets are offered.
const paperWeeks = 2

func mondayOf(d civil.Date) civil.Date { return d.AddDays(-((int(d.Weekday()) + 6) % 7)) }

// paperTank asks the questions of the tank's row on the round page, whether its
// check of the day is made or not.
func paperTank(p ui.Page, t *roundTank) PaperTank {
	open := *t
	open.taken = nil
	out := PaperTank{Tank: t.season.Tank.Name}
	for _, f := range roundRowView(p, &open, false).Fields {
		row := PaperRow{Label: f.Label}
		if f.Name == roundField(t, "gear") {
			row.Answers = p.T("paper.gear")
		} else if f.Kind == ui.SelectItem {
			row.Answers = p.T("paper.stage")
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}
