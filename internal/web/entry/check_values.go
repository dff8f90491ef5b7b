package entry

import (
	"cmp"
	"slices"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// sortCheckProblems puts problems in the order of the questions on the page, so
// that a child finds them from the top down. The time of day stands late there.
func sortCheckProblems(problems []logbook.Problem) {
	place := func(p logbook.Problem) int {
		switch i := slices.Index(words.CheckFields, p.Field); {
		case p.Field == "time":
			return slices.Index(words.CheckFields, "fed_g")
		case i < 0: // the reason of a correction is asked last
			return len(words.CheckFields)
		default:
			return i
		}
	}
	slices.SortStableFunc(problems, func(a, b logbook.Problem) int { return cmp.Compare(place(a), place(b)) })
}

// dayTiles are today and yesterday as choices.
func dayTiles(p *i18n.Printer, today civil.Date) []ui.Option {
	yesterday := today.AddDays(-1)
	return []ui.Option{
		{Value: today.String(), Label: p.T("check_form.day_today", map[string]any{"On": p.DateWeekday(today)})},
		{Value: yesterday.String(), Label: p.T("check_form.day_yesterday",
			map[string]any{"On": p.DateWeekday(yesterday)})},
	}
}
