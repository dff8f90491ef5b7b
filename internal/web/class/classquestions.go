package class

import (
	"net/http"
	"strconv"
	"strings"

	"reddside/internal/assess"
	"reddside/internal/classwork"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/units"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
)

// classQuestions are the questions of today, from easy to hard.
func (s *Service) classQuestions(w http.ResponseWriter, r *http.Request) error {
	return s.classAsked(w, r, "class.questions", classQuestionPath, classwork.Today)
}

// classSheet is a sheet of questions to print, the answers on its second page.
func (s *Service) classSheet(w http.ResponseWriter, r *http.Request) error {
	return s.classAsked(w, r, "class.sheet", classSheetPath, classwork.Worksheet)
}

func (s *Service) classAsked(w http.ResponseWriter, r *http.Request, key, here string,
	choose func(classwork.Facts) []classwork.Question) error {
	a, err := s.classAssessed(r)
	if err != nil {
		return err
	}
	page, top := s.classPage(r, a.Season, key+".title", here)
	p := page.P
	m := ClassQuestions{Page: page, Top: top, Lead: p.T(key+".lead", logbook.Args{"On": a.Today})}
	facts, err := s.classFacts(r, a, p.Unit())
	if err != nil {
		return err
	}
	for _, q := range choose(facts) {
		m.List = append(m.List, classQuestionView(p, a.Season.Tank.Name, q))
	}
	if len(m.List) == 0 {
		m.None = p.T("class.questions.none")
	}
	if here == classSheetPath {
		return s.Render(w, r, http.StatusOK, ClassSheetPage(m))
	}
	m.Sheet = ui.SeasonPath(a.Season.ID, classSheetPath)
	return s.Render(w, r, http.StatusOK, ClassQuestionsPage(m))
}

// classFacts gathers what questions of today are made from: what was known when
// yesterday ended, in the unit that the class sees.
func (s *Service) classFacts(r *http.Request, a assess.Result, unit units.TemperatureUnit) (classwork.Facts, error) {
	f := factsOf(a, unit)
	others, err := s.classOthers(r, a.Season)
	if err != nil {
		return f, err
	}
	for _, o := range others {
		if o.Site.ID != a.Season.Site.ID {
			continue
		}
		b, err := s.Assess.Assess(r.Context(), o, req.Of(r).Now)
		if err != nil {
			return f, err
		}
		f.OtherTank, f.Other = o.Tank.Name, classBefore(a, classMeasured(&b.Forecast, unit))
		break
	}
	return f, nil
}

// factsOf are the facts of one tank alone.
func factsOf(a assess.Result, unit units.TemperatureUnit) classwork.Facts {
	f := classwork.Facts{Tank: a.Season.Tank.ID, Today: a.Today, Days: classBefore(a, classMeasured(&a.Forecast, unit))}
	if len(f.Days) > 0 && a.Forecast.ThermalUnitsKnown {
		if d := a.Forecast.DayOn(f.Days[len(f.Days)-1].On); d != nil {
			total := float64(d.ThermalUnits)
			if unit == units.DegF {
				total = d.ThermalUnits.FahrenheitUnits()
			}
			f.Total = int(units.Round(total, 0))
		}
	}
	t := a.Season.TotalsOn(a.Today.AddDays(-1))
	if _, ok := report.AliveOf(t); ok && t.MovedIn+t.MovedOut+t.Sampled+t.Released+t.Unexplained == 0 {
		f.Started, f.Alive = t.Delivered, t.Alive
	}
	return f
}

// classBefore leaves out today: what is entered today changes no question.
func classBefore(a assess.Result, days []classwork.Day) []classwork.Day {
	for len(days) > 0 && !days[len(days)-1].On.Before(a.Today) {
		days = days[:len(days)-1]
	}
	return days
}

// classQuestionView writes a question in the reader's language.
func classQuestionView(p *i18n.Printer, tank string, q classwork.Question) ClassQuestion {
	args := classArgs(p, tank, q)
	key := "class.q." + string(q.Kind) + "." + strconv.Itoa(q.Level)
	out := ClassQuestion{Level: p.T("class.level." + strconv.Itoa(q.Level)), Lead: p.T(key+".lead", args),
		Ask: p.T(key+".ask", args)}
	switch q.Kind {
	case classwork.Graph:
		line := units.None[int]()
		if q.Level == 2 {
			line = units.Some(q.Line)
		}
		if q.Level == 1 && q.Answer.Sign < 0 {
			out.Ask = p.T(key+".ask_cold", args)
		}
		c := NewClassChart(p, q.Days, line)
		c.Table = classNumbersView(p, tank, q)
		out.Chart = &c
	default:
		if len(q.Days) > 2 {
			out.Table = classNumbersView(p, tank, q)
		}
	}
	out.Answer = classAnswer(p, q, key, args)
	return out
}

// classArgs are the numbers of a question and of its answer.
func classArgs(p *i18n.Printer, tank string, q classwork.Question) logbook.Args {
	a := q.Answer
	one := func(t int) string { return ofTenths(p, t) }
	args := logbook.Args{"Tank": tank, "Other": q.OtherTank, "N": p.Count(len(q.Days)), "PerDay": one(q.PerDay),
		"Total": p.Count(q.Total), "Target": p.Count(q.Target), "Whole": p.Count(q.Whole), "Part": p.Count(q.Part),
		"Gone": p.Count(q.Gone),
		"Line": one(q.Line), "Answer": one(a.Tenths), "Sum": one(a.Sum), "Value": one(a.Value), "Value2": one(a.Value2),
		"Count": a.Count, "Of": p.Count(a.Of), "On": p.DayMonth(a.On), "Missing": p.Count(a.Value),
		"Unit": p.UnitSymbol(), "Made": one(a.Count * q.PerDay), "Before": one((a.Count - 1) * q.PerDay),
		"DaysBefore": p.Count(a.Count - 1)}
	if q.Level == 1 && q.Kind == classwork.Rate {
		args["PerDay"] = p.Count(q.PerDay / 10)
		args["Made"], args["Before"] = p.Count(a.Count*q.PerDay/10), p.Count((a.Count-1)*q.PerDay/10)
	}
	if n := len(q.Days); n > 0 {
		args["First"], args["Last"] = p.DayMonth(q.Days[0].On), p.DayMonth(q.Days[n-1].On)
		args["FirstDegrees"], args["LastDegrees"] = one(q.Days[0].Tenths), one(q.Days[n-1].Tenths)
		args["FirstUnits"], args["LastUnits"] = one(q.Days[0].Units), one(q.Days[n-1].Units)
	}
	if n := len(q.Other); n > 0 {
		args["OtherDegrees"] = one(q.Other[n-1].Tenths)
	}
	return args
}

// classAnswer writes the way to the answer, and the answer last.
func classAnswer(p *i18n.Printer, q classwork.Question, key string, args logbook.Args) []string {
	sign := [3]string{"colder", "same", "warmer"}[q.Answer.Sign+1]
	switch q.Kind {
	case classwork.Mean:
		return []string{classSum(p, q.Days, degreesOf) + " = " + ofTenths(p, q.Answer.Sum),
			p.T("class.q.mean.answer", args)}
	case classwork.Rate:
		out := []string{p.T("class.q.rate.missing", args), p.T("class.q.rate.almost", args),
			p.T("class.q.rate.answer", args)}
		if q.Level == classwork.Levels {
			args["Answer"] = ofTenths(p, q.PerDay)
			out = append([]string{classSum(p, q.Days, unitsOf) + " = " + ofTenths(p, q.Answer.Sum),
				p.T("class.q.mean.answer", args)}, out...)
		}
		return out
	case classwork.Graph:
		return []string{p.T(key+".answer", args)}
	case classwork.Change:
		out := []string{p.T("class.q.change."+sign, args)}
		if q.Level == classwork.Levels {
			out = []string{p.T("class.q.change.means", args), out[0]}
		}
		return out
	case classwork.Tanks:
		out := []string{p.T("class.q.tanks."+sign, args)}
		if q.Level > 1 {
			out = []string{p.T("class.q.tanks.means", args), out[0]}
		}
		return out
	case classwork.Sum:
		if q.Level == 2 {
			return []string{p.T("class.q.sum.2.answer", args)}
		}
		return []string{classSum(p, q.Days, unitsOf) + " = " + ofTenths(p, q.Answer.Tenths),
			p.T("class.q.sum.answer", args)}
	}
	return []string{p.T(key+".answer", args)}
}

func degreesOf(d classwork.Day) int { return d.Tenths }
func unitsOf(d classwork.Day) int   { return d.Units }

// classSum writes a sum out: 7.1 + 7.3.
func classSum(p *i18n.Printer, days []classwork.Day, of func(classwork.Day) int) string {
	parts := make([]string, len(days))
	for i, d := range days {
		if parts[i] = ofTenths(p, of(d)); of(d) < 0 && i > 0 {
			parts[i] = "(" + parts[i] + ")"
		}
	}
	return strings.Join(parts, " + ")
}

// classNumbersView is the table of the numbers of a question.
func classNumbersView(p *i18n.Printer, tank string, q classwork.Question) ui.DataTable {
	of, caption := degreesOf, p.T("class.q.degrees", logbook.Args{"Unit": p.UnitSymbol()})
	if q.Kind == classwork.Rate || q.Kind == classwork.Sum {
		of, caption = unitsOf, p.T("class.q.units")
	}
	t := ui.DataTable{Caption: caption, Columns: []ui.DataColumn{{Label: p.T("class.units.col.day")},
		{Label: tank, Number: true}}}
	if len(q.Other) > 0 {
		t.Columns = append(t.Columns, ui.DataColumn{Label: q.OtherTank, Number: true})
	}
	for i, d := range q.Days {
		row := []string{p.DateShort(d.On), ofTenths(p, of(d))}
		if len(q.Other) > 0 {
			row = append(row, ofTenths(p, q.Other[i].Tenths))
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}
