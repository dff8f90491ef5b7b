package store

import (
	"context"
	"errors"
	"time"

	"reddside/internal/logbook"
)

// RoundRow is the check of one tank in a round of all tanks of a site.
type RoundRow struct {
	Check logbook.Check
	Write Write
}

// RoundError says which row of a round could not be stored, and why.
type RoundError struct {
	Row int // from 0
	Err error
}

// Error implements error.
func (e *RoundError) Error() string { return e.Err.Error() }

// Unwrap returns the cause.
func (e *RoundError) Unwrap() error { return e.Err }

// SaveRound stores the checks of a round in one transaction, all or nothing;
// each is stored as SaveCheck stores one, with its own key. A key that was used
// with other values is set aside: then day and slot decide. The error of a row
// is a *RoundError.
func (d *DB) SaveRound(ctx context.Context, actor logbook.Actor, rows []RoundRow,
	now time.Time) ([]Saved[logbook.Check], error) {
	var out []Saved[logbook.Check]
	err := d.write(ctx, "save round", func(c *conn) error {
		out = out[:0]
		for i, r := range rows {
			saved, err := checkTable.createIn(ctx, c, actor, r.Check, now, r.Write)
			var known *logbook.Error
			if errors.As(err, &known) && known.Key == "error.idempotency.mismatch" {
				r.Write.Once = IdempotencyKey{}
				saved, err = checkTable.createIn(ctx, c, actor, r.Check, now, r.Write)
			}
			if err != nil {
				return &RoundError{Row: i, Err: err}
			}
			out = append(out, saved)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}
