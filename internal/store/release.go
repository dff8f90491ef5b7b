package store

import (
	"context"
	"slices"
	"strings"
	"time"

	"reddside/internal/logbook"
)

var releaseTable = ofFields(entryTable[logbook.ReleaseRecord]{
	name: "release_record", fields: logbook.ReleaseFields(),
	id:   func(v *logbook.ReleaseRecord) *logbook.ID { return &v.ID },
	in:   func(v *logbook.ReleaseRecord) *logbook.ID { return &v.SeasonID },
	meta: func(v *logbook.ReleaseRecord) *logbook.Entry { return &v.Entry },
	add:  addRelease,
	exists: func(have *logbook.ReleaseRecord) error {
		return &logbook.Error{Kind: logbook.Conflict, Key: "release.recorded",
			Err: &Current[logbook.ReleaseRecord]{Row: *have}}
	},
})

func init() { releaseTable.taken = releaseOfEvent }

// releaseOfEvent finds the record of the event of v.
func releaseOfEvent(ctx context.Context, c *conn, num int64, v *logbook.ReleaseRecord) (have *logbook.ReleaseRecord,
	err error) {
	_, err = c.one(ctx, func(r row) error { got := releaseTable.read(r); have = &got; return nil },
		"SELECT "+releaseTable.list()+" FROM release_record WHERE season_num = ? AND event_id = ? AND voided = 0", num,
		v.EventID)
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
func (d *DB) CreateRelease(ctx context.Context, actor logbook.Actor, v logbook.ReleaseRecord, now time.Time,
	w Write) (Saved[logbook.ReleaseRecord], error) {
	return releaseTable.create(ctx, d, actor, v, now, w)
}

// CorrectRelease replaces what a record says; see CorrectCheck.
func (d *DB) CorrectRelease(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64,
	v logbook.ReleaseRecord, reason string,
	now time.Time) (Saved[logbook.ReleaseRecord], error) {
	return releaseTable.correct(ctx, d, actor, id, from, &v, reason, now, nil)
}

// Release returns one record, voided or not.
func (d *DB) Release(ctx context.Context, id logbook.ID) (logbook.ReleaseRecord, error) {
	return readOne(ctx, d, &releaseTable, id)
}
