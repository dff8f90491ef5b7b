package req

import (
	"net/http"
	"slices"

	"reddside/internal/logbook"
	"reddside/internal/report"
)

// judgeSample says what is wrong with a sample. Surprising values for which ok
// holds are noted in it as confirmed.
func (s *Kernel) JudgeSample(r *http.Request, m *logbook.Sample, season *logbook.Season, ok func(field string) bool) ([]logbook.Problem, error) {
	a, err := s.Assess.Assess(r.Context(), season, Of(r).Now)
	if err != nil {
		return nil, err
	}
	m.Confirmed = nil
	var left []logbook.Problem
	for _, p := range m.Validate(report.SampleContextOf(season, m, a.Today, &a.Forecast)) {
		if p.Soft && ok(p.Field) {
			m.Confirmed = append(m.Confirmed, p.Field)
			continue
		}
		left = append(left, p)
	}
	slices.Sort(m.Confirmed)
	return left, nil
}
