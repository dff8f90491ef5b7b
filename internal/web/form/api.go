package form

import (
	"reddside/internal/logbook"
)

// Renamed gives problems the names of the JSON fields where they differ from
// those of the domain.
func Renamed(problems []logbook.Problem, names map[string]string) []logbook.Problem {
	for i := range problems {
		if n := names[problems[i].Field]; n != "" {
			problems[i].Field = n
		}
	}
	return problems
}
