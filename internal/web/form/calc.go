package form

import (
	"strings"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/stats"
)

// Quantity writes a number with its unit. Calculators answer in the units of
// their parameters' names, so Celsius stays Celsius.
func Quantity(p *i18n.Printer, v float64, unit string) string {
	switch unit {
	case "":
		return p.Sig(v)
	case "Cel", "K":
		unit = "°C"
	}
	return p.Sig(v) + "\u00a0" + unit
}

// CalcYears are the first and last year of calculations.
var CalcYears = logbook.Args{"Low": "1900", "High": "2200"}

// CalcYear is what is wrong with the year of a day, "" when nothing is.
func CalcYear(d civil.Date) string {
	if y, _, _ := d.YMD(); y < 1900 || y > 2200 {
		return "calc.year"
	}
	return ""
}

// Picks reads the dead found at earlier picks, each a day after the one before,
// oldest first: whole numbers with a space, comma or semicolon between.
func (q *Query) Picks(name string, atRisk int) []stats.DaysDead {
	var out []stats.DaysDead
	total := atRisk
	for _, word := range strings.FieldsFunc(q.Text(name),
		func(r rune) bool { return strings.ContainsRune(" ,;\u00a0\t", r) }) {
		n, key := logbook.ParseCount(word)
		if key != "" || n > stats.MaxAtRisk {
			q.Fail(name, "care_calc.history_not", logbook.Args{"Max": stats.MaxAtRisk})
			return nil
		}
		if total += n; total > stats.MaxAtRisk {
			q.Fail(name, "calc.too_many_fish", logbook.Args{"Max": stats.MaxAtRisk})
			return nil
		}
		if len(out) == stats.MaxDays {
			q.Fail(name, "api.too_many", logbook.Args{"Max": stats.MaxDays})
			return nil
		}
		out = append(out, stats.DaysDead{Days: 1, Dead: n})
	}
	return out
}

// NeedDay reads a day of the years of calculations that must be there.
func (q *Query) NeedDay(name string) civil.Date {
	if _, sent := q.Values[name]; !sent {
		q.known = append(q.known, name)
		q.Fail(name, "date.empty", nil)
		return civil.Date{}
	}
	d, key := ParseDate(q.Text(name))
	if key == "" {
		key = CalcYear(d)
	}
	if key != "" {
		q.Fail(name, key, CalcYears)
		return civil.Date{}
	}
	return d
}
