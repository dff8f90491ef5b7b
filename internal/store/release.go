package store

import (
	"context"
	"slices"
	"strings"
	"time"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

var releaseTable = entryTable[logbook.ReleaseRecord]{
	name: "release_record",
	cols: []string{"id", "event_id", "water_body", "latitude", "longitude", "purpose", "life_stage", "mean_length_mm", "size_method",
		"transport", "left_at", "arrived_at", "container_l", "oxygen_supply", "water_source", "tank_c", "bucket_c", "stream_c",
		"tempering_steps", "tempering_minutes", "supplier", "stock", "health_statement", "health_note",
		"first_count", "second_count", "third_count", "reason_again", "reason_more", "not_ready"},
	args: func(v *logbook.ReleaseRecord) []any {
		return []any{v.ID, v.EventID, v.WaterBody, null(v.Latitude), null(v.Longitude), v.Purpose, v.LifeStage, null(v.MeanMM), v.SizeMethod,
			v.Transport, v.LeftAt, v.ArrivedAt, null(v.Container), v.Oxygen, v.WaterSource, null(v.Tank), null(v.Bucket), null(v.Stream),
			null(v.TemperSteps), null(v.TemperMinutes), v.Supplier, v.Stock, v.Health, v.HealthNote,
			null(v.First), null(v.Second), null(v.Third), v.ReasonAgain, v.ReasonMore, v.NotReady}
	},
	read: func(r row) logbook.ReleaseRecord {
		return logbook.ReleaseRecord{ID: logbook.ID(r.text(0)), EventID: logbook.ID(r.text(1)), WaterBody: r.text(2),
			Latitude: optReal[float64](r, 3), Longitude: optReal[float64](r, 4), Purpose: r.text(5), LifeStage: logbook.Stage(r.text(6)),
			MeanMM: optReal[units.Millimetres](r, 7), SizeMethod: r.text(8), Transport: r.text(9), LeftAt: r.text(10), ArrivedAt: r.text(11),
			Container: optReal[units.Litres](r, 12), Oxygen: logbook.OxygenSupply(r.text(13)), WaterSource: r.text(14),
			Tank: optReal[units.Celsius](r, 15), Bucket: optReal[units.Celsius](r, 16), Stream: optReal[units.Celsius](r, 17),
			TemperSteps: r.optInt(18), TemperMinutes: r.optInt(19), Supplier: r.text(20), Stock: r.text(21),
			Health: logbook.HealthStatement(r.text(22)), HealthNote: r.text(23), First: r.optInt(24), Second: r.optInt(25), Third: r.optInt(26),
			ReasonAgain: r.text(27), ReasonMore: r.text(28), NotReady: r.text(29), Entry: readEntry(r[30:])}
	},
	id:   func(v *logbook.ReleaseRecord) *logbook.ID { return &v.ID },
	in:   func(v *logbook.ReleaseRecord) *logbook.ID { return &v.SeasonID },
	meta: func(v *logbook.ReleaseRecord) *logbook.Entry { return &v.Entry },
	add:  addRelease,
	same: func(a, b *logbook.ReleaseRecord) bool {
		x, y := *a, *b
		x.ID, y.ID, x.Entry, y.Entry = "", "", logbook.Entry{}, logbook.Entry{}
		return x == y
	},
	exists: func(have *logbook.ReleaseRecord) error {
		return &logbook.Error{Kind: logbook.Conflict, Key: "release.recorded", Err: &Current[logbook.ReleaseRecord]{Row: *have}}
	},
}

func init() { releaseTable.taken = releaseOfEvent }

// releaseOfEvent finds the record of the event of v.
func releaseOfEvent(ctx context.Context, c *conn, num int64, v *logbook.ReleaseRecord) (have *logbook.ReleaseRecord, err error) {
	_, err = c.one(ctx, func(r row) error { got := releaseTable.read(r); have = &got; return nil },
		"SELECT "+releaseTable.list()+" FROM release_record WHERE season_num = ? AND event_id = ? AND voided = 0", num, v.EventID)
	return have, err
}

// addRelease puts a record in its season, in the order of the events. That of an
// event which was taken back stays out.
func addRelease(s *logbook.Season, v logbook.ReleaseRecord) {
	place := func(id logbook.ID) int {
		return slices.IndexFunc(s.Events, func(e logbook.Event) bool { return e.ID == id })
	}
	if place(v.EventID) < 0 {
		return
	}
	v.SeasonID = s.ID
	s.Releases = append(s.Releases, v)
	slices.SortFunc(s.Releases, func(a, b logbook.ReleaseRecord) int {
		return first(place(a.EventID)-place(b.EventID), strings.Compare(string(a.ID), string(b.ID)))
	})
}

// CreateRelease stores the record of a release whose event is stored already. A
// release has one record: a second one is refused with release.recorded, whose
// cause is *Current[logbook.ReleaseRecord].
func (d *DB) CreateRelease(ctx context.Context, actor logbook.Actor, v logbook.ReleaseRecord, now time.Time, w Write) (Saved[logbook.ReleaseRecord], error) {
	return releaseTable.create(ctx, d, actor, v, now, w)
}

// CorrectRelease replaces what a record says; see CorrectCheck.
func (d *DB) CorrectRelease(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, v logbook.ReleaseRecord, reason string,
	now time.Time) (Saved[logbook.ReleaseRecord], error) {
	return releaseTable.correct(ctx, d, actor, id, from, &v, reason, now, nil)
}

// Release returns one record, voided or not.
func (d *DB) Release(ctx context.Context, id logbook.ID) (logbook.ReleaseRecord, error) {
	return readOne(ctx, d, &releaseTable, id)
}
