package req

import (
	"errors"
	"net/http"
	"slices"

	"reddside/internal/logbook"
)

// IsStale reports whether a write was refused because somebody changed the row
// after the form was opened.
func IsStale(err error) bool {
	var e *logbook.Error
	return errors.As(err, &e) && e.Key == "error.stale"
}

// StatusWith is the status of a form that is shown again with problems.
func StatusWith(problems []logbook.Problem) int {
	if slices.ContainsFunc(problems, func(x logbook.Problem) bool { return x.Key == "error.stale" }) {
		return http.StatusConflict
	}
	return http.StatusUnprocessableEntity
}
