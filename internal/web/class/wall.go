package class

import (
	"net/http"
	"strconv"

	"github.com/go-chi/chi/v5"

	"reddside/internal/assess"
	"reddside/internal/classwork"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/store"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// A wall display holds four tanks, so that its figures can be read from four
// metres; more take turns. It loads itself again every minute, and sooner when
// tanks take turns.
const (
	wallTanks       = 4
	wallSeconds     = 60
	wallTurnSeconds = 20
)

// wallShow is the display of a school: no names, no details of flags.
func (s *Service) wallShow(w http.ResponseWriter, r *http.Request) error {
	v := req.Of(r)
	site, err := s.DB.Site(r.Context(), logbook.ID(chi.URLParam(r, "siteID")))
	if err != nil {
		return err
	}
	if !v.Actor.MaySee(site.ID) {
		return logbook.Missing("site")
	}
	page := s.NewPage(r, "wall.title", "board")
	page.P = s.InSite(v, site)
	p := page.P
	page.Title = p.T("wall.title", logbook.Args{"Site": site.Name})
	page.Styles, page.Scripts = []string{"pieces.css", "check.css", "class.css", "wall.css"}, []string{"wall.js"}
	all, err := s.wallAssessed(r, site)
	if err != nil {
		return err
	}
	pages := max(1, (len(all)+wallTanks-1)/wallTanks)
	at, _ := strconv.Atoi(r.URL.Query().Get("page"))
	at = min(max(at, 1), pages)
	m := Wall{Page: page, Site: site.Name, Day: p.DateWeekday(s.Assess.Today(site, v.Now)),
		Seen: p.Clock(v.Now, site.Location()), Every: wallSeconds}
	m.Next = ui.SitePath(site.ID, "/wall")
	if pages > 1 {
		m.Turn = p.T("wall.turn", logbook.Args{"Page": at, "Pages": pages})
		m.Every = wallTurnSeconds
		m.Next += "?page=" + strconv.Itoa(at%pages+1)
	}
	for _, a := range all[(at-1)*wallTanks : min(at*wallTanks, len(all))] {
		m.Tanks = append(m.Tanks, wallTankView(p, a))
	}
	m.Question, m.QuestionTank = wallQuestionView(p, all)
	return s.Render(w, r, http.StatusOK, WallPage(m))
}

// wallAssessed are the running seasons of a school by name of the tank, without
// those that wait for their eggs.
func (s *Service) wallAssessed(r *http.Request, site logbook.Site) ([]assess.Result, error) {
	heads, err := s.DB.SeasonHeads(r.Context(), store.SeasonFilter{SiteID: site.ID, OpenOnly: true})
	if err != nil {
		return nil, err
	}
	var out []assess.Result
	for _, h := range heads {
		season, err := s.DB.LoadSeason(r.Context(), h.ID)
		if err != nil {
			return nil, err
		}
		a, err := s.Assess.Assess(r.Context(), season, req.Of(r).Now)
		if err != nil {
			return nil, err
		}
		if a.Assessment.Active {
			out = append(out, a)
		}
	}
	return out, nil
}

func wallTankView(p *i18n.Printer, a assess.Result) WallTank {
	t := WallTank{Name: a.Season.Tank.Name, Status: a.Assessment.Status, Ruler: words.RulerOf(p, a), Temperature: "–",
		Units: "–", Alive: "–"}
	t.Stage, t.StageName, _ = classStageOf(p, a)
	if x := a.Assessment.Temperature; !x.On.IsZero() {
		t.Temperature = p.Temp(x.Value)
		if x.On != a.Today {
			t.TemperatureOn = p.DateShort(x.On)
		}
	}
	if a.Forecast.Ok() {
		t.Units = p.Num(ClassUnitsOf(p, classDay(&a.Forecast).ThermalUnits), 0)
	}
	if v, ok := report.SurvivalOf(a.Season, a.Today); ok {
		t.Alive = p.Count(v.Hundred.Alive)
	}
	if n := a.Assessment.Next; n.Event != "" && !n.P50.IsZero() {
		t.Next = p.T("wall.next", logbook.Args{"Event": ui.EventName(p, n.Event), "When": ui.DateSpan(p, n.P10, n.P90)})
	}
	switch {
	case a.Assessment.CheckedToday:
		t.Checked, t.Check = true, p.T("wall.checked")
	case a.Assessment.Closed:
		t.Check = p.T("wall.closed")
	default:
		t.Check = p.T("wall.not_checked")
	}
	return t
}

// wallQuestionView is the question of the day: the tanks of the school take turns.
func wallQuestionView(p *i18n.Printer, all []assess.Result) (*ClassQuestion, string) {
	for i := range all {
		a := all[(all[0].Today.UTC().YearDay()+i)%len(all)]
		f := factsOf(a, p.Unit())
		for j := range all {
			if b := all[j]; b.Season.ID != a.Season.ID {
				f.OtherTank, f.Other = b.Season.Tank.Name, classBefore(a, classMeasured(&b.Forecast, p.Unit()))
				break
			}
		}
		q, ok := classwork.Daily(f)
		if !ok {
			continue
		}
		// A chart is not read from afar: another tank's question goes before it.
		if shown := classQuestionView(p, a.Season.Tank.Name, q); shown.Chart == nil {
			return &shown, a.Season.Tank.Name
		}
	}
	return nil, ""
}
