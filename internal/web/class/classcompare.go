package class

import (
	"math"
	"net/http"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// classTanks shows the tank beside another of the same school, or of the same
// lot where the reader may see it.
func (s *Service) classTanks(w http.ResponseWriter, r *http.Request) error {
	a, err := s.classAssessed(r)
	if err != nil {
		return err
	}
	page, top := s.classPage(r, a.Season, "class.compare.title", classComparePath)
	p := page.P
	m := ClassCompare{Page: page, Top: top}
	others, err := s.classOthers(r, a.Season)
	if err != nil {
		return err
	}
	if len(others) == 0 {
		m.None = p.T("class.compare.none")
		return s.Render(w, r, http.StatusOK, ClassComparePage(m))
	}
	with := others[0]
	for _, o := range others {
		if string(o.ID) == r.URL.Query().Get("with") {
			with = o
		}
	}
	here := ui.SeasonPath(a.Season.ID, classComparePath) + "?with="
	for _, o := range others {
		m.Choices = append(m.Choices, ClassLink{Href: here + string(o.ID), Text: classTankName(o, a.Season),
			Here: o.ID == with.ID})
	}
	b, err := s.Assess.Assess(r.Context(), with, req.Of(r).Now)
	if err != nil {
		return err
	}
	m.Tanks = []ClassTank{classTankOf(p, a, "class-one"), classTankOf(p, b, "class-two")}
	m.Differs, m.Why = classDiffers(p, a, b), classDiffersWhy(p, a, b)
	m.Table = classPairTable(p, a, b)
	return s.Render(w, r, http.StatusOK, ClassComparePage(m))
}

// maxClassOthers is how many other tanks are offered: more would be no choice.
const maxClassOthers = 12

// classOthers are the other running seasons of the school, then those of the
// same lot at schools that the reader may see.
func (s *Service) classOthers(r *http.Request, season *logbook.Season) ([]*logbook.Season, error) {
	heads, err := s.DB.SeasonHeads(r.Context(), store.SeasonFilter{SiteID: season.Site.ID, OpenOnly: true})
	if err != nil {
		return nil, err
	}
	same, err := s.DB.SeasonHeads(r.Context(), store.SeasonFilter{LotID: season.Lot.ID, OpenOnly: true})
	if err != nil {
		return nil, err
	}
	var out []*logbook.Season
	seen := map[logbook.ID]bool{season.ID: true}
	for _, h := range append(heads, same...) {
		if len(out) == maxClassOthers {
			break
		}
		if seen[h.ID] || !req.Of(r).Actor.MaySee(h.SiteID) {
			continue
		}
		seen[h.ID] = true
		o, err := s.DB.LoadSeason(r.Context(), h.ID)
		if err != nil {
			return nil, err
		}
		if o.StartedOn().IsZero() || o.StartedOn().After(s.Assess.Today(o.Site, req.Of(r).Now)) {
			continue
		}
		out = append(out, o)
	}
	return out, nil
}

func classTankName(o, beside *logbook.Season) string {
	if o.Site.ID != beside.Site.ID {
		return o.Tank.Name + ", " + o.Site.Name
	}
	return o.Tank.Name
}

func classTankOf(p *i18n.Printer, a assess.Result, id string) ClassTank {
	t := ClassTank{Name: a.Season.Tank.Name, Site: a.Season.Site.Name, ID: id, Ruler: words.RulerOf(p, a)}
	t.Stage, t.StageName, _ = classStageOf(p, a)
	for _, f := range classFiguresView(p, a) {
		if f.Label != p.T("class.figure.next") {
			t.Figures = append(t.Figures, f)
		}
	}
	if v, ok := report.SurvivalOf(a.Season, a.Today); ok {
		t.Figures = append(t.Figures, ClassFigure{Label: p.T("class.figure.alive"), Value: p.Count(v.Hundred.Alive),
			More: p.T("class.figure.alive_more")})
	}
	return t
}

// classPair is what two tanks have in common to be compared.
type classPair struct {
	warm          units.Optional[units.CelsiusDelta] // how much warmer the first was on their shared days
	days          int                                // of these
	ahead         units.ThermalUnits                 // of the first
	both          bool                               // thermal units of both are known in the same way
	perDay        float64                            // of the one behind, units a day
	sameLot, same bool                               // same lot; same day of arrival
}

// classPairDays is how many of the newest shared days are compared.
const classPairDays = 7

func pairOf(a, b assess.Result) classPair {
	c := classPair{sameLot: a.Season.Lot.ID == b.Season.Lot.ID, same: a.Season.StartedOn() == b.Season.StartedOn()}
	if !a.Forecast.Ok() || !b.Forecast.Ok() {
		return c
	}
	at := map[civil.Date]float64{}
	for _, d := range b.Forecast.Days {
		if !d.Estimated && d.Temperature.OK && !d.On.After(b.Forecast.Today) {
			at[d.On] = float64(d.Temperature.V)
		}
	}
	var sum, mine, theirs float64
	for i := len(a.Forecast.Days) - 1; i >= 0 && c.days < classPairDays; i-- {
		d := &a.Forecast.Days[i]
		other, ok := at[d.On]
		if !ok || d.Estimated || !d.Temperature.OK || d.On.After(a.Forecast.Today) {
			continue
		}
		c.days++
		sum += float64(d.Temperature.V) - other
		mine, theirs = mine+math.Max(0, float64(d.Temperature.V)), theirs+math.Max(0, other)
	}
	if c.days > 0 {
		c.warm = units.Some(units.CelsiusDelta(sum / float64(c.days)))
	}
	c.both = a.Forecast.ThermalUnitsKnown && b.Forecast.ThermalUnitsKnown
	c.ahead = classDay(&a.Forecast).ThermalUnits - classDay(&b.Forecast).ThermalUnits
	if c.days > 0 {
		c.perDay = theirs / float64(c.days)
		if c.ahead < 0 {
			c.perDay = mine / float64(c.days)
		}
	}
	return c
}

// classDiffers says what differs, without a winner.
func classDiffers(p *i18n.Printer, a, b assess.Result) []string {
	c := pairOf(a, b)
	one, two := a.Season.Tank.Name, b.Season.Tank.Name
	var out []string
	if w, ok := c.warm.Get(); ok {
		warm, cool := one, two
		if w < 0 {
			w, warm, cool = -w, two, one
		}
		if units.Round(float64(w), 1) == 0 {
			out = append(out, p.T("class.compare.same_water", logbook.Args{"Count": c.days}))
		} else {
			out = append(out, p.T("class.compare.warmer", logbook.Args{"Warm": warm, "Cool": cool, "By": w,
				"Count": c.days}))
		}
	}
	if c.both {
		ahead, behind, more := one, two, c.ahead
		if more < 0 {
			more, ahead, behind = -more, two, one
		}
		n := ClassUnitsOf(p, more)
		if units.Round(n, 0) == 0 {
			out = append(out, p.T("class.compare.same_units"))
		} else {
			out = append(out, p.T("class.compare.more_units", logbook.Args{"Ahead": ahead, "Behind": behind,
				"More": p.Num(n, 0)}))
			if c.perDay >= 1 {
				days := int(units.Round(float64(more)/c.perDay, 0))
				if days > 0 {
					out = append(out, p.T("class.compare.days", logbook.Args{"Behind": behind, "Count": days}))
				}
			}
		}
	}
	if len(out) == 0 {
		out = append(out, p.T("class.compare.too_little"))
	}
	return out
}

// classDiffersWhy explains the difference, and what it does not mean.
func classDiffersWhy(p *i18n.Printer, a, b assess.Result) []string {
	c := pairOf(a, b)
	out := []string{p.T("class.compare.why_warm")}
	switch {
	case !c.sameLot:
		out = append(out, p.T("class.compare.other_lot"))
	case !c.same:
		out = append(out, p.T("class.compare.other_day"))
	default:
		out = append(out, p.T("class.compare.same_lot"))
	}
	return append(out, p.T("class.compare.no_race"), p.T("class.compare.alive"))
}

// classPairTable holds the same figures in a table.
func classPairTable(p *i18n.Printer, a, b assess.Result) ui.DataTable {
	t := ui.DataTable{Caption: p.T("class.compare.table"), Columns: []ui.DataColumn{{Label: p.T("class.compare.what")},
		{Label: a.Season.Tank.Name}, {Label: classTankName(b.Season, a.Season)}}}
	one, two := classTankOf(p, a, ""), classTankOf(p, b, "")
	row := func(label, x, y string) {
		for _, v := range []*string{&x, &y} {
			if *v == "" {
				*v = "–"
			}
		}
		t.Rows = append(t.Rows, []string{label, x, y})
	}
	row(p.T("class.compare.stage"), one.StageName, two.StageName)
	for _, key := range []string{"water", "units", "days", "alive"} {
		label := p.T("class.figure." + key)
		row(label, figureValue(one.Figures, label), figureValue(two.Figures, label))
	}
	return t
}

func figureValue(all []ClassFigure, label string) string {
	for _, f := range all {
		if f.Label == label {
			return f.Value
		}
	}
	return ""
}
