package class

import (
	"net/http"

	"reddside/internal/assess"
	"reddside/internal/classwork"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/ui"
)

// classUnits tells how the days add up to thermal units.
func (s *Service) classUnits(w http.ResponseWriter, r *http.Request) error {
	a, err := s.classAssessed(r)
	if err != nil {
		return err
	}
	page, top := s.classPage(r, a.Season, "class.units.title", classUnitsPath)
	m := ClassUnits{Page: page, Top: top}
	p, f := page.P, &a.Forecast
	if !f.Ok() {
		m.None = p.T("class.units.none")
		return s.Render(w, r, http.StatusOK, ClassUnitsPage(m))
	}
	steps := NewClassSteps(p, f, classDay(f))
	m.Steps = &steps
	m.Today = classUnitsToday(p, a)
	m.Marks = classUnitsMarks(p, f)
	m.Why = []string{p.T("class.units.why_1"), p.T("class.units.why_2"), p.T("class.units.why_3")}
	m.Table = classUnitsTable(p, f)
	return s.Render(w, r, http.StatusOK, ClassUnitsPage(m))
}

// classMeasured are the measured days of a forecast before a day, in tenths of
// the reader's unit.
func classMeasured(f *forecast.Result, unit units.TemperatureUnit) []classwork.Day {
	var out []classwork.Day
	if !f.Ok() {
		return nil
	}
	for i := range f.Days {
		d := &f.Days[i]
		if d.Estimated || !d.Temperature.OK || d.On.After(f.Today) {
			continue
		}
		out = append(out, classwork.Day{On: d.On, Tenths: inTenths(unit.FromCelsius(d.Temperature.V)),
			Units: inTenths(classDayUnits(d, unit))})
	}
	return out
}

// classDay is the last day that counts for a class: today once it is measured,
// yesterday before that. The forecast must be there.
func classDay(f *forecast.Result) *forecast.Day {
	day := f.DayOn(f.Today)
	if before := f.DayOn(f.Today.AddDays(-1)); before != nil && day.Estimated {
		return before
	}
	return day
}

// classDayUnits are the thermal units that one day makes: nothing below
// freezing.
func classDayUnits(d *forecast.Day, unit units.TemperatureUnit) float64 {
	made := units.ThermalUnits(max(0, float64(d.Temperature.V)))
	if unit == units.DegF {
		return made.FahrenheitUnits()
	}
	return float64(made)
}

func inTenths(v float64) int {
	r := units.Round(v, 1) * 10
	if r < 0 {
		return int(r - 0.5)
	}
	return int(r + 0.5)
}

func ofTenths(p *i18n.Printer, t int) string { return p.Num(float64(t)/10, 1) }

// classUnitsToday says what the newest measured day made, and the sum.
func classUnitsToday(p *i18n.Printer, a assess.Result) []string {
	f := &a.Forecast
	var out []string
	if days := classMeasured(f, p.Unit()); len(days) > 0 {
		d := days[len(days)-1]
		key := "class.units.on"
		switch a.Today.Sub(d.On) {
		case 0:
			key = "class.units.on_today"
		case 1:
			key = "class.units.on_yesterday"
		}
		out = append(out, p.T(key, logbook.Args{"On": p.DayMonth(d.On), "Degrees": ofTenths(p, d.Tenths),
			"Made": ofTenths(p, d.Units)}))
	}
	sum := p.Num(ClassUnitsOf(p, classDay(f).ThermalUnits), 0)
	key := "class.units.together"
	if !f.ThermalUnitsKnown {
		key = "class.units.together_since"
	}
	return append(out, p.T(key, logbook.Args{"Sum": sum}))
}

// classUnitsMarks says where on the steps the marks lie.
func classUnitsMarks(p *i18n.Printer, f *forecast.Result) []string {
	var out []string
	for _, e := range forecast.Events() {
		w := f.Window(e)
		key := "class.units.mark." + string(e)
		switch {
		case w.BeforeStart:
			out = append(out, p.T(key+".before"))
		case !w.Ok():
			out = append(out, p.T(key+".never"))
		default:
			day := f.DayOn(w.P50)
			if day == nil {
				continue
			}
			args := logbook.Args{"Sum": p.Num(ClassUnitsOf(p, day.ThermalUnits), 0), "On": p.DayMonth(w.P50)}
			if w.Observed.IsZero() {
				out = append(out, p.T(key+".ahead", args))
			} else {
				out = append(out, p.T(key+".seen", args))
			}
		}
	}
	return out
}

// classUnitsTable is the same as the drawing, day by day, newest first.
func classUnitsTable(p *i18n.Printer, f *forecast.Result) ui.DataTable {
	t := ui.DataTable{Caption: p.T("class.units.table")}
	for i, key := range []string{"day", "water", "made", "together", "how"} {
		t.Columns = append(t.Columns, ui.DataColumn{Label: p.T("class.units.col." + key), Number: i > 0 && i < 4})
	}
	for i := len(f.Days) - 1; i >= 0; i-- {
		d := &f.Days[i]
		if d.On.After(classDay(f).On) || !d.Temperature.OK {
			continue
		}
		how := p.T("class.units.measured")
		if d.Estimated {
			how = p.T("class.units.guessed")
		}
		t.Rows = append(t.Rows, []string{p.DateWeekday(d.On), p.Temp(d.Temperature.V),
			p.Num(classDayUnits(d, p.Unit()), 1),
			p.Num(ClassUnitsOf(p, d.ThermalUnits), 0), how})
	}
	return t
}
