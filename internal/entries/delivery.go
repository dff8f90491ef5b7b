package entries

import (
	"context"

	"reddside/internal/logbook"
)

// Deliveries are how deliveries are written.
func (s *Service) Deliveries() Kind[logbook.Delivery] {
	return Kind[logbook.Delivery]{
		s: s, name: "delivery", create: s.db.CreateDelivery, correct: s.db.CorrectDelivery, void: s.db.VoidDelivery,
		id: func(d *logbook.Delivery) logbook.ID { return d.ID },
		judge: func(_ context.Context, in *Sent, d, _ *logbook.Delivery) ([]logbook.Problem, error) {
			problems := d.Validate(in.Season.Lot, s.Assess.Today(in.Season.Site, in.Now))
			return append(problems, in.Season.ValidateDelivery(*d)...), nil
		},
	}
}
