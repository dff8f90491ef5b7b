package flags

import (
	"net/http"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/req"
	"reddside/internal/web/words"
)

// RestOf is how long a rule's flag may be set aside, in days.
func RestOf(rule string) int {
	for _, r := range rules.All() {
		if r.ID == rule {
			return r.ShelveDays
		}
	}
	return 0
}

// latestRest is the last day to which a flag may be set aside.
func latestRest(f *store.Flag, today civil.Date) civil.Date { return today.AddDays(RestOf(f.Rule)) }

// saidToday is what the rules say today of a flag of a season; a form that cannot
// have it shows what the flag said when it was raised.
func (s *Service) saidToday(r *http.Request, p *i18n.Printer, f *store.Flag, season *logbook.Season) string {
	spoken := assess.Spoken{}
	if a, err := s.Assess.Assess(r.Context(), season, req.Of(r).Now); err == nil {
		spoken.Add(&a.Assessment)
	}
	return words.SaidNow(p, spoken, f)
}
