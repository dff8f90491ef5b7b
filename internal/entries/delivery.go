package entries

import (
	"context"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

func (s *Service) deliveries() kind[logbook.Delivery] {
	return kind[logbook.Delivery]{
		name: "delivery", create: s.db.CreateDelivery, correct: s.db.CorrectDelivery, void: s.db.VoidDelivery,
		id: func(d *logbook.Delivery) logbook.ID { return d.ID },
		judge: func(_ context.Context, in *Sent, d, _ *logbook.Delivery) ([]logbook.Problem, error) {
			problems := d.Validate(in.Season.Lot, s.Assess.Today(in.Season.Site, in.Now))
			return append(problems, in.Season.ValidateDelivery(*d)...), nil
		},
	}
}

// NewDelivery stores a delivery to a season.
func (s *Service) NewDelivery(ctx context.Context, in Sent, d *logbook.Delivery) (store.Saved[logbook.Delivery], error) {
	return s.deliveries().new(ctx, s, in, d)
}

// CorrectDelivery replaces have, of the revision from.
func (s *Service) CorrectDelivery(ctx context.Context, in Sent, have, d *logbook.Delivery, from int64, reason string) (store.Saved[logbook.Delivery], error) {
	return s.deliveries().change(ctx, s, in, have, d, from, reason)
}

// VoidDelivery takes a delivery back.
func (s *Service) VoidDelivery(ctx context.Context, in Sent, have *logbook.Delivery, from int64, reason string) (store.Saved[logbook.Delivery], error) {
	return s.deliveries().takeBack(ctx, s, in, have, from, reason)
}
