package form

import (
	"errors"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// LotRefused puts beside the lot why its season cannot begin; false for another
// error.
func (f *Form) LotRefused(err error) bool {
	var e *logbook.Error
	refused := errors.As(err, &e) && (e.Key == "error.season.open" || e.Key == "error.lot.elsewhere")
	if refused {
		f.Fail("lot", e.Key, e.Args)
	}
	return refused
}

func ReadRelease(f *Form, season *logbook.Season, today civil.Date) {
	season.ReleaseFrom, season.ReleaseBy = f.Date("release_from"), f.Date("release_by")
	f.Add(season.ValidateRelease(today))
}
