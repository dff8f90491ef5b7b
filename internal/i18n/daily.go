package i18n

import (
	"iter"
	"strings"

	"reddside/internal/civil"
)

// Daily are numbers day by day, newest first, for a reader on a day; that day is
// zero when the words must stay true later.
type Daily interface {
	Daily() (today civil.Date, each iter.Seq2[civil.Date, int])
}

// dailyNamed is how many days are written one by one. A local choice.
const dailyNamed = 3

// daily writes "40 today, 2 on Friday"; days before the newest few are added up.
func (p *Printer) daily(v Daily) string {
	today, each := v.Daily()
	var out []string
	rest := 0
	for on, n := range each {
		if len(out) >= dailyNamed {
			rest += n
			continue
		}
		key, args := "daily.date", map[string]any{"N": n, "On": p.DateShort(on)}
		switch age := today.Sub(on); {
		case today.IsZero():
		case age == 0:
			key = "daily.today"
		case age == 1:
			key = "daily.yesterday"
		case age < 7:
			key, args["On"] = "daily.weekday", on.Weekday()
		}
		out = append(out, p.T(key, args))
	}
	if rest > 0 {
		out = append(out, p.T("daily.before", map[string]any{"N": rest}))
	}
	return strings.Join(out, ", ")
}
