package form

import (
	"errors"
	"net/http"

	"reddside/internal/logbook"
)

func Unreadable(err error) error {
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		return err
	}
	return &logbook.Error{Kind: logbook.Invalid, Key: "form.unreadable", Err: err}
}
