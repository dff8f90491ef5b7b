package entries

import (
	"errors"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

func IsMismatch(err error) bool {
	var e *logbook.Error
	return errors.As(err, &e) && e.Key == "error.idempotency.mismatch"
}

// Current returns the stored row that stands in the way of a write, or nil.
func Current[T any](err error) *T {
	var cur *store.Current[T]
	if errors.As(err, &cur) {
		return &cur.Row
	}
	return nil
}

// MayCorrect reports whether the actor may correct a check of a site of theirs.
// A class corrects what a class entered for today.
func MayCorrect(a logbook.Actor, c *logbook.Check, today civil.Date) bool {
	return a.Role != logbook.Class || (c.By == logbook.Class && c.On == today)
}
