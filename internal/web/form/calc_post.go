package form

import (
	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// CalcYears are the first and last year of calculations.
var CalcYears = logbook.Args{"Low": "1900", "High": "2200"}

// CalcYear is what is wrong with the year of a day, "" when nothing is.
func CalcYear(d civil.Date) string {
	if y, _, _ := d.YMD(); y < 1900 || y > 2200 {
		return "calc.year"
	}
	return ""
}
