package form

import (
	"strings"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/stats"
)

// Picks reads the dead found at earlier picks, each a day after the one before,
// oldest first: whole numbers with a space, comma or semicolon between.
func (q *Query) Picks(name string, atRisk int) []stats.DaysDead {
	var out []stats.DaysDead
	total := atRisk
	for _, word := range strings.FieldsFunc(q.Text(name), func(r rune) bool { return strings.ContainsRune(" ,;\u00a0\t", r) }) {
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
