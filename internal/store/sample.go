package store

import (
	"context"
	"encoding/json"
	"slices"
	"strings"
	"time"

	"reddside/internal/logbook"
)

var sampleTable = ofFields(entryTable[logbook.Sample]{
	name: "sample", fields: logbook.SampleFields(),
	id:   func(v *logbook.Sample) *logbook.ID { return &v.ID },
	in:   func(v *logbook.Sample) *logbook.ID { return &v.SeasonID },
	meta: func(v *logbook.Sample) *logbook.Entry { return &v.Entry },
	add: func(s *logbook.Season, v logbook.Sample) {
		s.Samples = append(s.Samples, v)
		slices.SortFunc(s.Samples, func(a, b logbook.Sample) int {
			return first(a.On.Compare(b.On), strings.Compare(string(a.ID), string(b.ID)))
		})
	},
})

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
func (d *DB) CreateSample(ctx context.Context, actor logbook.Actor, v logbook.Sample, now time.Time,
	w Write) (Saved[logbook.Sample], error) {
	return sampleTable.create(ctx, d, actor, v, now, w)
}

// CorrectSample replaces what a sample says; see CorrectCheck.
func (d *DB) CorrectSample(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, v logbook.Sample,
	reason string,
	now time.Time, after After) (Saved[logbook.Sample], error) {
	return sampleTable.correct(ctx, d, actor, id, from, &v, reason, now, after)
}

// VoidSample takes a sample back; it stays readable.
func (d *DB) VoidSample(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, reason string,
	now time.Time,
	after After) (Saved[logbook.Sample], error) {
	return sampleTable.correct(ctx, d, actor, id, from, nil, reason, now, after)
}

// Sample returns one sample, voided or not.
func (d *DB) Sample(ctx context.Context, id logbook.ID) (logbook.Sample, error) {
	return readOne(ctx, d, &sampleTable, id)
}
