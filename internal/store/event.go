package store

import (
	"context"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

var deliveryTable = entryTable[logbook.Delivery]{
	name: "delivery",
	cols: []string{"id", "on_date", "egg_count", "method", "thermal_units_c", "mean_temperature_c", "development_index",
		"pack_temperature_c", "stage", "note"},
	args: func(v *logbook.Delivery) []any {
		return []any{v.ID, v.On, v.Count, v.Method, null(v.ThermalUnits), null(v.MeanTemperature), null(v.Index),
			null(v.PackTemperature), v.Stage, v.Note}
	},
	read: func(r row) logbook.Delivery {
		return logbook.Delivery{ID: logbook.ID(r.text(0)), On: r.date(1), Count: int(r.int(2)), Method: logbook.CountMethod(r.text(3)),
			ThermalUnits: optReal[units.ThermalUnits](r, 4), MeanTemperature: optReal[units.Celsius](r, 5), Index: optReal[float64](r, 6),
			PackTemperature: optReal[units.Celsius](r, 7), Stage: logbook.Stage(r.text(8)), Note: r.text(9), Entry: readEntry(r[10:])}
	},
	id:   func(v *logbook.Delivery) *logbook.ID { return &v.ID },
	in:   func(v *logbook.Delivery) *logbook.ID { return &v.SeasonID },
	meta: func(v *logbook.Delivery) *logbook.Entry { return &v.Entry },
	add: func(s *logbook.Season, v logbook.Delivery) {
		s.Deliveries = append(s.Deliveries, v)
		sortDeliveries(s.Deliveries)
	},
	same: func(a, b *logbook.Delivery) bool {
		x, y := *a, *b
		x.ID, y.ID, x.Entry, y.Entry = "", "", logbook.Entry{}, logbook.Entry{}
		return x == y
	},
}

var eventTable = entryTable[logbook.Event]{
	name: "event",
	cols: []string{"id", "kind", "on_date", "local_time", "fish_count", "volume_l", "setpoint_c", "duration_h", "mean_weight_g",
		"place", "permit", "product", "purpose", "dose", "dose_unit", "minutes", "allowed_by", "days_before_release", "note", "observer"},
	args: func(v *logbook.Event) []any {
		return []any{v.ID, v.Kind, v.On, v.Time, null(v.Count), null(v.Litres), null(v.Setpoint), null(v.Hours), null(v.MeanG),
			v.Place, v.Permit, v.Treated.Product, v.Treated.Purpose, null(v.Treated.Dose), v.Treated.DoseUnit, null(v.Treated.Minutes),
			v.Treated.AllowedBy, null(v.Treated.DaysBeforeRelease), v.Note, v.Observer}
	},
	read: func(r row) logbook.Event {
		return logbook.Event{ID: logbook.ID(r.text(0)), Kind: logbook.EventKind(r.text(1)), On: r.date(2), Time: r.text(3), Count: r.optInt(4),
			Litres: optReal[units.Litres](r, 5), Setpoint: optReal[units.Celsius](r, 6), Hours: optReal[float64](r, 7),
			MeanG: optReal[units.Grams](r, 8), Place: r.text(9), Permit: r.text(10),
			Treated: logbook.Treated{Product: r.text(11), Purpose: r.text(12), Dose: optReal[float64](r, 13), DoseUnit: logbook.DoseUnit(r.text(14)),
				Minutes: optReal[float64](r, 15), AllowedBy: r.text(16), DaysBeforeRelease: r.optInt(17)},
			Note: r.text(18), Observer: r.text(19), Entry: readEntry(r[20:])}
	},
	id:   func(v *logbook.Event) *logbook.ID { return &v.ID },
	in:   func(v *logbook.Event) *logbook.ID { return &v.SeasonID },
	meta: func(v *logbook.Event) *logbook.Entry { return &v.Entry },
	add:  func(s *logbook.Season, v logbook.Event) { s.Events = append(s.Events, v); sortEvents(s.Events) },
	same: func(a, b *logbook.Event) bool {
		x, y := *a, *b
		x.ID, y.ID, x.Entry, y.Entry = "", "", logbook.Entry{}, logbook.Entry{}
		return x == y
	},
}

// CreateDelivery stores eggs placed in a tank.
func (d *DB) CreateDelivery(ctx context.Context, actor logbook.Actor, v logbook.Delivery, now time.Time, w Write) (Saved[logbook.Delivery], error) {
	return deliveryTable.create(ctx, d, actor, v, now, w)
}

// CorrectDelivery replaces what a delivery says; see CorrectCheck.
func (d *DB) CorrectDelivery(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, v logbook.Delivery, reason string,
	now time.Time, after After) (Saved[logbook.Delivery], error) {
	return deliveryTable.correct(ctx, d, actor, id, from, &v, reason, now, after)
}

// VoidDelivery takes a delivery back; it stays readable.
func (d *DB) VoidDelivery(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, reason string, now time.Time,
	after After) (Saved[logbook.Delivery], error) {
	return deliveryTable.correct(ctx, d, actor, id, from, nil, reason, now, after)
}

// Delivery returns one delivery, voided or not.
func (d *DB) Delivery(ctx context.Context, id logbook.ID) (logbook.Delivery, error) {
	return readOne(ctx, d, &deliveryTable, id)
}

// CreateEvent stores something done to a tank.
func (d *DB) CreateEvent(ctx context.Context, actor logbook.Actor, v logbook.Event, now time.Time, w Write) (Saved[logbook.Event], error) {
	return eventTable.create(ctx, d, actor, v, now, w)
}

// CorrectEvent replaces what an event says; see CorrectCheck.
func (d *DB) CorrectEvent(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, v logbook.Event, reason string,
	now time.Time, after After) (Saved[logbook.Event], error) {
	return eventTable.correct(ctx, d, actor, id, from, &v, reason, now, after)
}

// VoidEvent takes an event back; it stays readable.
func (d *DB) VoidEvent(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, reason string, now time.Time,
	after After) (Saved[logbook.Event], error) {
	return eventTable.correct(ctx, d, actor, id, from, nil, reason, now, after)
}

// Event returns one event, voided or not.
func (d *DB) Event(ctx context.Context, id logbook.ID) (logbook.Event, error) {
	return readOne(ctx, d, &eventTable, id)
}
