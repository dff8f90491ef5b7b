package plan

import (
	"math"
	"net/http"

	"reddside/internal/biology"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// Levels of the page that explains a forecast.
const (
	levelPupil   = "pupil"
	levelTeacher = "teacher"
)

// forecastHow lays the sum of a forecast out day by day, for pupils or for
// teachers.
func (s *Service) forecastHow(w http.ResponseWriter, r *http.Request) error {
	season, err := s.SeasonOf(r)
	if err != nil {
		return err
	}
	a, err := s.Assess.Assess(r.Context(), season, req.Of(r).Now)
	if err != nil {
		return err
	}
	page, top := s.SeasonPage(r, season, "how.title", ui.PageHow)
	level, other := r.URL.Query().Get("level"), levelTeacher
	if level != levelPupil && level != levelTeacher {
		if level = levelTeacher; page.Role == logbook.Class {
			level = levelPupil
		}
	}
	if level == levelTeacher {
		other = levelPupil
	}
	m := HowPage{Page: page, Top: top, Pupil: level == levelPupil,
		Levels: []ui.PageLink{{Href: top.TankHref + ui.PageHow + "?level=" + other,
			Text: page.T("how.level." + other)}}}
	f, p := &a.Forecast, page.P
	if !f.Ok() {
		m.None = p.T(f.Reason, f.Args)
		return s.Render(w, r, http.StatusOK, HowPageView(m))
	}
	m.Ruler = words.RulerOf(p, a)
	if m.Pupil {
		m.Story, m.Rows = pupilStory(p, f), pupilRows(p, f)
	} else {
		m.Story, m.Rows = teacherStory(p, f), teacherRows(p, f)
		m.Models, m.Bias = howModelsView(p, f)
	}
	return s.Render(w, r, http.StatusOK, HowPageView(m))
}

// rateOf is what day i adds to the development index.
func rateOf(f *forecast.Result, i int) float64 {
	if i == 0 {
		return f.Days[0].Index - f.StartIndex
	}
	return f.Days[i].Index - f.Days[i-1].Index
}

// steps writes an index as steps of a hundred, which pupils count in.
func steps(p *i18n.Printer, x float64, decimals int) string { return p.Num(100*x, decimals) }

// wholeSteps is an index in whole steps.
func wholeSteps(x float64) int { return int(math.Round(100 * x)) }

func pupilStory(p *i18n.Printer, f *forecast.Result) []string {
	i := f.Today.Sub(f.StartOn)
	rate := rateOf(f, i)
	args := logbook.Args{"On": p.DateWeekday(f.Today), "Temperature": f.Days[i].Temperature.V,
		"Steps": steps(p, rate, 1),
		"Done":  steps(p, f.Index, 0), "Middle": p.DateWeekday(f.Hatch.P50)}
	out := []string{p.T("how.p.path"), p.T("how.p.day", args)}
	ahead := f.Hatch.Ok() && f.Hatch.Observed.IsZero() && f.Hatch.P50.After(f.Today)
	switch {
	case ahead:
		// The path of this lot may be a little longer or shorter than 100 steps.
		end := 1.0
		if d := f.DayOn(f.Hatch.P50.AddDays(-1)); d != nil {
			end = d.Index
		}
		args["All"], args["Left"], args["Count"] = steps(p, end, 0), p.Count(wholeSteps(end)-wholeSteps(f.Index)),
			f.Hatch.P50.Sub(f.Today)
		out = append(out, p.T("how.p.left", args), p.T("how.p.when", args))
		out = append(out, p.T("how.p.unsure",
			logbook.Args{"When": WindowWords(p, f.Hatch.P10, f.Hatch.P50, f.Hatch.P90)}))
	case f.SwimUp.Ok() && f.SwimUp.Observed.IsZero() && f.SwimUp.P50.After(f.Today):
		out = append(out, p.T("how.p.swim",
			logbook.Args{"When": WindowWords(p, f.SwimUp.P10, f.SwimUp.P50, f.SwimUp.P90)}))
	}
	return append(out, p.T("how.p.warm"))
}

// pupilDays is how many days around today the pupils' table shows.
const pupilDays = 14

func pupilRows(p *i18n.Printer, f *forecast.Result) []HowRow {
	today := f.Today.Sub(f.StartOn)
	var out []HowRow
	for i := max(0, today-pupilDays); i < min(len(f.Days), today+pupilDays+1); i++ {
		d := &f.Days[i]
		out = append(out, HowRow{On: p.DateWeekday(d.On), Temperature: p.Temp(d.Temperature.V),
			Rate:  steps(p, rateOf(f, i), 1),
			Index: steps(p, d.Index, 0), Today: d.On == f.Today, Estimated: d.Estimated})
	}
	return out
}

// teacherStory writes the method and its first line in words.
func teacherStory(p *i18n.Printer, f *forecast.Result) []string {
	dev, ok := biology.Lookup(string(f.Species))
	if !ok {
		return nil
	}
	d := &f.Days[0]
	rate := rateOf(f, 0)
	out := []string{p.T("how.t.method"),
		p.T("how.t.start", logbook.Args{"On": p.Date(f.StartOn), "Index": p.Num(100*f.StartIndex, 0)})}
	if rate > 0 {
		out = append(out, p.T("how.t.first", logbook.Args{"On": p.Date(d.On), "Temperature": d.Temperature.V,
			"Source": d.Source,
			"Days":   p.Num(dev.Hatch.Days(d.Temperature.V), 1), "Rate": p.Num(rate, 4),
			"Before": p.Num(f.StartIndex, 4), "After": p.Num(f.StartIndex+rate, 4)}))
	}
	out = append(out, p.T("how.t.lot", logbook.Args{"Factor": p.Num(f.Lot.Factor(), 3)}))
	if k, ok := dev.SwimUp.RatioTo(dev.Hatch); ok {
		out = append(out, p.T("how.t.ratio", logbook.Args{"Ratio": p.Num(k, 2)}))
	} else {
		out = append(out, p.T("how.t.own"))
	}
	if f.SwimUp.Anchored {
		out = append(out, p.T("how.t.anchored", logbook.Args{"By": p.Date(f.Hatch.Observed.OnOrBefore)}))
	}
	return append(out, p.T("how.t.units"), p.T("how.t.estimated"))
}

func teacherRows(p *i18n.Printer, f *forecast.Result) []HowRow {
	out := make([]HowRow, 0, len(f.Days))
	for i := range f.Days {
		d := &f.Days[i]
		out = append(out, HowRow{On: p.Date(d.On), Temperature: p.Temp(d.Temperature.V),
			Source: p.T(d.Source.MessageKey()),
			Rate:   p.Num(rateOf(f, i), 4), Index: p.Num(d.Index, 3), Units: unitsSoFar(p, d.ThermalUnits),
			Today: d.On == f.Today, Estimated: d.Estimated})
	}
	return out
}

// unitsSoFar writes thermal units without the unit, which the column names.
func unitsSoFar(p *i18n.Printer, u units.ThermalUnits) string {
	if p.Unit() == units.DegF {
		return p.Num(u.FahrenheitUnits(), 0)
	}
	return p.Num(float64(u), 0)
}

func howModelsView(p *i18n.Printer, f *forecast.Result) ([]HowModel, []string) {
	var out []HowModel
	for _, m := range f.Models {
		x := HowModel{Event: p.T(m.Event.MessageKey()), Source: m.ID + ": " + m.Source,
			Known: p.T("how.known." + words.KnownBy(m.How)),
			Range: p.T("how.no_range"), Doubt: m.Doubt}
		if m.Low.OK && m.High.OK {
			x.Range = p.T("how.range_of", logbook.Args{"Low": m.Low.V, "High": m.High.V})
		}
		out = append(out, x)
	}
	var bias []string
	if dev, ok := biology.Lookup(string(f.Species)); ok && dev.Bias != "" {
		bias = append(bias, p.T(dev.Bias))
	}
	if f.Weak {
		bias = append(bias, p.T("forecast.note.weak", logbook.Args{"Species": f.Species}))
	}
	return out, bias
}
