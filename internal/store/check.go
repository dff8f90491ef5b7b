package store

import (
	"context"
	"time"

	"reddside/internal/logbook"
)

var checkTable = ofFields(entryTable[logbook.Check]{
	name: "checks", fields: logbook.CheckFields(),
	id:   func(v *logbook.Check) *logbook.ID { return &v.ID },
	in:   func(v *logbook.Check) *logbook.ID { return &v.SeasonID },
	meta: func(v *logbook.Check) *logbook.Entry { return &v.Entry },
	add:  func(s *logbook.Season, v logbook.Check) { s.Checks = append(s.Checks, v); sortChecks(s.Checks) },
	exists: func(have *logbook.Check) error {
		return &logbook.Error{Kind: logbook.Conflict, Key: "error.check.exists",
			Args: logbook.Args{"On": have.On, "ID": string(have.ID)}, Err: &Current[logbook.Check]{Row: *have}}
	},
})

func init() { checkTable.taken = checkAt }

// checkAt finds the check that stands in the day and slot of v.
func checkAt(ctx context.Context, c *conn, num int64, v *logbook.Check) (have *logbook.Check, err error) {
	_, err = c.one(ctx, func(r row) error { got := checkTable.read(r); have = &got; return nil },
		"SELECT "+checkTable.list()+" FROM checks WHERE season_num = ? AND on_date = ? AND slot = ? AND voided = 0",
		num, v.On, v.Slot)
	return have, err
}

// SaveCheck stores a check in one transaction: the check, the season's new
// revision, the flags that w.After decides from the season as it then is, and
// the answer for the key. The same check again is answered with the stored
// one; a different check for the same day and slot is refused with
// error.check.exists, whose cause is *Current[logbook.Check].
func (d *DB) SaveCheck(ctx context.Context, actor logbook.Actor, v logbook.Check, now time.Time,
	w Write) (Saved[logbook.Check], error) {
	return checkTable.create(ctx, d, actor, v, now, w)
}

// CorrectCheck replaces what a check says; from is the revision the correction
// started from. The old form stays in the history. A stale revision is refused
// with error.stale, whose cause is *Current[logbook.Check].
func (d *DB) CorrectCheck(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, v logbook.Check,
	reason string,
	now time.Time, after After) (Saved[logbook.Check], error) {
	return checkTable.correct(ctx, d, actor, id, from, &v, reason, now, after)
}

// VoidCheck takes a check back; it stays readable.
func (d *DB) VoidCheck(ctx context.Context, actor logbook.Actor, id logbook.ID, from int64, reason string,
	now time.Time,
	after After) (Saved[logbook.Check], error) {
	return checkTable.correct(ctx, d, actor, id, from, nil, reason, now, after)
}

// Check returns one check, voided or not.
func (d *DB) Check(ctx context.Context, id logbook.ID) (logbook.Check, error) {
	return readOne(ctx, d, &checkTable, id)
}

func readOne[T any](ctx context.Context, d *DB, t *entryTable[T], id logbook.ID) (v T, err error) {
	err = d.read(ctx, "read "+t.name, func(c *conn) error {
		got, err := t.byID(ctx, c, id)
		if err == nil {
			v = *got
		}
		return err
	})
	return v, err
}
