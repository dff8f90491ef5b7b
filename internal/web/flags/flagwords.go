package flags

import (
	"reddside/internal/civil"
	"reddside/internal/rules"
	"reddside/internal/store"
)

// restOf is how long a rule's flag may be set aside, in days.
func RestOf(rule string) int {
	for _, r := range rules.All() {
		if r.ID == rule {
			return r.SetAsideDays
		}
	}
	return 0
}

// latestRest is the last day to which a flag may be set aside.
func latestRest(f *store.Flag, today civil.Date) civil.Date { return today.AddDays(RestOf(f.Rule)) }
