package entries

import (
	"context"
	"slices"

	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/store"
)

func (s *Service) samples() kind[logbook.Sample] {
	return kind[logbook.Sample]{
		name: "sample", create: s.db.CreateSample, correct: s.db.CorrectSample, void: s.db.VoidSample,
		id: func(m *logbook.Sample) logbook.ID { return m.ID },
		judge: func(ctx context.Context, in *Sent, m, have *logbook.Sample) ([]logbook.Problem, error) {
			a, err := s.Assess.Assess(ctx, in.Season, in.Now)
			if err != nil {
				return nil, err
			}
			same := have != nil && have.Count == m.Count && have.Total == m.Total && slices.Equal(have.Lengths, m.Lengths) && have.On == m.On
			problems := m.Validate(report.SampleContextOf(in.Season, m, a.Today, &a.Forecast))
			m.Confirmed, problems = in.confirmed(problems, func(field string) bool { return same && slices.Contains(have.Confirmed, field) })
			return problems, nil
		},
	}
}

// NewSample stores a sample.
func (s *Service) NewSample(ctx context.Context, in Sent, row *logbook.Sample) (store.Saved[logbook.Sample], error) {
	return s.samples().new(ctx, s, in, row)
}

// CorrectSample replaces have, of the revision from.
func (s *Service) CorrectSample(ctx context.Context, in Sent, have, row *logbook.Sample, from int64,
	reason string) (store.Saved[logbook.Sample], error) {
	return s.samples().change(ctx, s, in, have, row, from, reason)
}

// VoidSample takes a sample back.
func (s *Service) VoidSample(ctx context.Context, in Sent, have *logbook.Sample, from int64, reason string) (store.Saved[logbook.Sample], error) {
	return s.samples().takeBack(ctx, s, in, have, from, reason)
}
