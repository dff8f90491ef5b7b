package web

import (
	"errors"
	"net/http"
	"slices"
	"strconv"

	"reddside/internal/logbook"
	"reddside/internal/web/view"
)

// isStale reports whether a write was refused because somebody changed the row
// after the form was opened.
func isStale(err error) bool {
	var e *logbook.Error
	return errors.As(err, &e) && e.Key == "error.stale"
}

// The problems of a field that somebody else has just changed.
const (
	keyMeanwhile      = "form.meanwhile"
	keyMeanwhileEmpty = "form.meanwhile_empty"
)

// meanwhile prepares a form to be shown again over a row that somebody else changed
// while it was open: what was typed stays, each field that differs says what is
// stored now, and saving again replaces that. now is the form of the row as it is
// stored, of the revision.
func (f *form) meanwhile(now *form, revision int64) {
	f.fail("revision", "error.stale", nil)
	var names []string
	for name := range now.values {
		if name != "revision" && now.raw(name) != f.raw(name) {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	for _, name := range names {
		key := keyMeanwhile
		if now.raw(name) == "" {
			key = keyMeanwhileEmpty
		}
		f.fail(name, key, logbook.Args{"Value": now.raw(name)})
	}
	f.set("revision", strconv.FormatInt(revision, 10))
}

// statusWith is the status of a form that is shown again with problems.
func statusWith(problems []logbook.Problem) int {
	if slices.ContainsFunc(problems, func(x logbook.Problem) bool { return x.Key == "error.stale" }) {
		return http.StatusConflict
	}
	return http.StatusUnprocessableEntity
}

// storedNow puts what is stored now in the words of the field.
func (b *items) storedNow(x logbook.Problem) logbook.Problem {
	value, _ := x.Args["Value"].(string)
	i := slices.IndexFunc(b.list, func(it view.FormItem) bool { return it.Name == x.Field })
	if i < 0 {
		return x
	}
	for _, o := range b.list[i].Options {
		if o.Value == value {
			x.Key, x.Args = keyMeanwhile, logbook.Args{"Value": o.Label}
		}
	}
	switch {
	case b.list[i].Kind == view.CheckItem && value == "":
		x.Key = "form.meanwhile_off"
	case b.list[i].Kind == view.CheckItem:
		x.Key = "form.meanwhile_on"
	}
	return x
}
