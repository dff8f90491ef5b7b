package store

import (
	"context"
	"time"

	"reddside/internal/logbook"
)

var deliveryTable = ofFields(entryTable[logbook.Delivery]{
	name: "delivery", fields: logbook.DeliveryFields(),
	id:   func(v *logbook.Delivery) *logbook.ID { return &v.ID },
	in:   func(v *logbook.Delivery) *logbook.ID { return &v.SeasonID },
	meta: func(v *logbook.Delivery) *logbook.Entry { return &v.Entry },
	add: func(s *logbook.Season, v logbook.Delivery) {
		s.Deliveries = append(s.Deliveries, v)
		sortDeliveries(s.Deliveries)
	},
})

var eventTable = ofFields(entryTable[logbook.Event]{
	name: "event", fields: logbook.EventFields(),
	id:   func(v *logbook.Event) *logbook.ID { return &v.ID },
	in:   func(v *logbook.Event) *logbook.ID { return &v.SeasonID },
	meta: func(v *logbook.Event) *logbook.Entry { return &v.Entry },
	add:  func(s *logbook.Season, v logbook.Event) { s.Events = append(s.Events, v); sortEvents(s.Events) },
})

// CreateDelivery stores eggs placed in a tank.
func (d *DB) CreateDelivery(ctx context.Context, actor logbook.Actor, v logbook.Delivery, now time.Time,
	w Write) (Saved[logbook.Delivery], error) {
	return deliveryTable.create(ctx, d, actor, v, now, w)
}

// CorrectDelivery replaces what a delivery says; see CorrectCheck.
func (d *DB) CorrectDelivery(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, v logbook.Delivery,
	reason string,
	now time.Time, after After) (Saved[logbook.Delivery], error) {
	return deliveryTable.correct(ctx, d, actor, id, from, &v, reason, now, after)
}

// VoidDelivery takes a delivery back; it stays readable.
func (d *DB) VoidDelivery(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, reason string,
	now time.Time,
	after After) (Saved[logbook.Delivery], error) {
	return deliveryTable.correct(ctx, d, actor, id, from, nil, reason, now, after)
}

// Delivery returns one delivery, voided or not.
func (d *DB) Delivery(ctx context.Context, id logbook.ID) (logbook.Delivery, error) {
	return readOne(ctx, d, &deliveryTable, id)
}

// CreateEvent stores something done to a tank.
func (d *DB) CreateEvent(ctx context.Context, actor logbook.Actor, v logbook.Event, now time.Time,
	w Write) (Saved[logbook.Event], error) {
	return eventTable.create(ctx, d, actor, v, now, w)
}

// CorrectEvent replaces what an event says; see CorrectCheck.
func (d *DB) CorrectEvent(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, v logbook.Event,
	reason string,
	now time.Time, after After) (Saved[logbook.Event], error) {
	return eventTable.correct(ctx, d, actor, id, from, &v, reason, now, after)
}

// VoidEvent takes an event back; it stays readable.
func (d *DB) VoidEvent(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, reason string,
	now time.Time,
	after After) (Saved[logbook.Event], error) {
	return eventTable.correct(ctx, d, actor, id, from, nil, reason, now, after)
}

// Event returns one event, voided or not.
func (d *DB) Event(ctx context.Context, id logbook.ID) (logbook.Event, error) {
	return readOne(ctx, d, &eventTable, id)
}
