package store

import (
	"context"
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

var sampleTable = entryTable[logbook.Sample]{
	name: "sample",
	cols: []string{"id", "on_date", "weighed_count", "total_g", "weights_g", "lengths_mm", "lost_count", "note", "observer", "confirmed"},
	args: func(v *logbook.Sample) []any {
		return []any{v.ID, v.On, v.Count, float64(v.Total), numbersText(v.Weights), numbersText(v.Lengths), null(v.Lost), v.Note, v.Observer,
			strings.Join(v.Confirmed, " ")}
	},
	read: func(r row) logbook.Sample {
		v := logbook.Sample{ID: logbook.ID(r.text(0)), On: r.date(1), Count: int(r.int(2)), Total: optReal[units.Grams](r, 3).V,
			Weights: numbersOf[units.Grams](r.text(4)), Lengths: numbersOf[units.Millimetres](r.text(5)), Lost: r.optInt(6),
			Note: r.text(7), Observer: r.text(8), Entry: readEntry(r[10:])}
		if s := r.text(9); s != "" {
			v.Confirmed = strings.Split(s, " ")
		}
		return v
	},
	id:   func(v *logbook.Sample) *logbook.ID { return &v.ID },
	in:   func(v *logbook.Sample) *logbook.ID { return &v.SeasonID },
	meta: func(v *logbook.Sample) *logbook.Entry { return &v.Entry },
	add: func(s *logbook.Season, v logbook.Sample) {
		s.Samples = append(s.Samples, v)
		slices.SortFunc(s.Samples, func(a, b logbook.Sample) int {
			return first(a.On.Compare(b.On), strings.Compare(string(a.ID), string(b.ID)))
		})
	},
	same: func(a, b *logbook.Sample) bool {
		x, y := *a, *b
		x.ID, y.ID, x.Entry, y.Entry = "", "", logbook.Entry{}, logbook.Entry{}
		x.Confirmed, y.Confirmed = append([]string{}, x.Confirmed...), append([]string{}, y.Confirmed...)
		x.Weights, y.Weights = append([]units.Grams{}, x.Weights...), append([]units.Grams{}, y.Weights...)
		x.Lengths, y.Lengths = append([]units.Millimetres{}, x.Lengths...), append([]units.Millimetres{}, y.Lengths...)
		return reflect.DeepEqual(x, y)
	},
}

// numbersText writes a list of numbers, "[]" for none.
func numbersText[T ~float64](list []T) string {
	b, err := json.Marshal(append([]T{}, list...))
	if err != nil {
		return "" // no number: the CHECK of the column refuses it
	}
	return string(b)
}

// numbersOf reads what numbersText wrote; the CHECK of the column makes anything
// else impossible.
func numbersOf[T ~float64](s string) (list []T) {
	if s == "[]" || json.Unmarshal([]byte(s), &list) != nil {
		return nil
	}
	return list
}

// CreateSample stores fish that were weighed.
func (d *DB) CreateSample(ctx context.Context, actor logbook.Actor, v logbook.Sample, now time.Time, w Write) (Saved[logbook.Sample], error) {
	return sampleTable.create(ctx, d, actor, v, now, w)
}

// CorrectSample replaces what a sample says; see CorrectCheck.
func (d *DB) CorrectSample(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, v logbook.Sample, reason string,
	now time.Time, after After) (Saved[logbook.Sample], error) {
	return sampleTable.correct(ctx, d, actor, id, from, &v, reason, now, after)
}

// VoidSample takes a sample back; it stays readable.
func (d *DB) VoidSample(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, reason string, now time.Time,
	after After) (Saved[logbook.Sample], error) {
	return sampleTable.correct(ctx, d, actor, id, from, nil, reason, now, after)
}

// Sample returns one sample, voided or not.
func (d *DB) Sample(ctx context.Context, id logbook.ID) (logbook.Sample, error) {
	return readOne(ctx, d, &sampleTable, id)
}
