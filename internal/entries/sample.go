package entries

import (
	"context"
	"slices"

	"reddside/internal/logbook"
	"reddside/internal/report"
)

// Samples are how samples are written.
func (s *Service) Samples() Kind[logbook.Sample] {
	return Kind[logbook.Sample]{
		s: s, name: "sample", create: s.db.CreateSample, correct: s.db.CorrectSample, void: s.db.VoidSample,
		id: func(m *logbook.Sample) logbook.ID { return m.ID },
		judge: func(ctx context.Context, in *Sent, m, have *logbook.Sample) ([]logbook.Problem, error) {
			a, err := s.Assess.Assess(ctx, in.Season, in.Now)
			if err != nil {
				return nil, err
			}
			same := have != nil && have.Count == m.Count && have.Total == m.Total &&
				slices.Equal(have.Lengths, m.Lengths) && have.On == m.On
			problems := m.Validate(report.SampleContextOf(in.Season, m, a.Today, &a.Forecast))
			m.Confirmed, problems = in.confirmed(problems, func(field string) bool {
				return same &&
					slices.Contains(have.Confirmed, field)
			})
			return problems, nil
		},
	}
}
