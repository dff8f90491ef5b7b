package form

import (
	"slices"
	"strconv"

	"reddside/internal/logbook"
	"reddside/internal/web/ui"
)

// The problems of a field that somebody else has just changed.
const (
	keyEditConflict      = "form.meanwhile"
	keyEditConflictEmpty = "form.meanwhile_empty"
)

// EditConflict prepares a form to be shown again over a row that somebody else changed
// while it was open: what was typed stays, each field that differs says what is
// stored now, and saving again replaces that. now is the form of the row as it is
// stored, of the revision.
func (f *Form) EditConflict(now *Form, revision int64) {
	f.Fail("revision", "error.stale", nil)
	var names []string
	for name := range now.Values {
		if name != "revision" && now.Raw(name) != f.Raw(name) {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	for _, name := range names {
		key := keyEditConflict
		if now.Raw(name) == "" {
			key = keyEditConflictEmpty
		}
		f.Fail(name, key, logbook.Args{"Value": now.Raw(name)})
	}
	f.Set("revision", strconv.FormatInt(revision, 10))
}

// storedNow puts what is stored now in the words of the field.
func (b *Items) storedNow(x logbook.Problem) logbook.Problem {
	value, _ := x.Args["Value"].(string)
	i := slices.IndexFunc(b.List, func(it ui.FormItem) bool { return it.Name == x.Field })
	if i < 0 {
		return x
	}
	for _, o := range b.List[i].Options {
		if o.Value == value {
			x.Key, x.Args = keyEditConflict, logbook.Args{"Value": o.Label}
		}
	}
	switch {
	case b.List[i].Kind == ui.CheckItem && value == "":
		x.Key = "form.meanwhile_off"
	case b.List[i].Kind == ui.CheckItem:
		x.Key = "form.meanwhile_on"
	}
	return x
}
