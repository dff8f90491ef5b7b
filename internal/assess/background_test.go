package assess

import (
	"context"
	"errors"
	"reflect"
	"strings"
	"testing"

	"reddside/internal/logbook"
)

// A panic or an error of one season is told with its name and stops no other.
func TestEachGoesOnAfterAFailure(t *testing.T) {
	var done []logbook.ID
	err := each(t.Context(), []logbook.ID{"a", "panics", "b", "fails", "c"}, func(id logbook.ID) error {
		switch id {
		case "panics":
			var none *logbook.Season
			_ = none.Label
		case "fails":
			return errors.New("cannot be read")
		}
		done = append(done, id)
		return nil
	})
	if want := []logbook.ID{"a", "b", "c"}; !reflect.DeepEqual(done, want) {
		t.Errorf("done %v, want %v", done, want)
	}
	for _, want := range []string{"season panics: panic: runtime error", "background_test.go",
		"season fails: cannot be read"} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("the error does not tell %q: %v", want, err)
		}
	}
	ended, stop := context.WithCancel(t.Context())
	stop()
	if err := each(ended, []logbook.ID{"a"}, func(logbook.ID) error { return errors.New("asked") }); err != nil {
		t.Errorf("after the end: %v", err)
	}
}
