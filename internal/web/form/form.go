package form

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// Form reads the fields of a sent form. It keeps every raw value for showing
// again and collects problems; a blank field is absent, never 0.
type Form struct {
	Values   url.Values
	Problems []logbook.Problem
}

// ReadForm parses the body of a POST.
func ReadForm(r *http.Request) (*Form, error) {
	if err := r.ParseForm(); err != nil {
		var tooLarge *http.MaxBytesError
		if errors.As(err, &tooLarge) {
			return nil, err
		}
		return nil, &logbook.Error{Kind: logbook.Invalid, Key: "form.unreadable", Err: err}
	}
	return &Form{Values: r.PostForm}, nil
}

// Raw returns the value of a field as typed.
func (f *Form) Raw(field string) string { return f.Values.Get(field) }

// Text returns a field without surrounding space and invisible characters.
func (f *Form) Text(field string) string {
	s := strings.Map(func(r rune) rune {
		if r == '\u200b' || r == '\ufeff' || r == 0 {
			return -1
		}
		return r
	}, f.Values.Get(field))
	return strings.TrimSpace(s)
}

func (f *Form) Fail(field, key string, args logbook.Args) {
	f.Problems = append(f.Problems, logbook.Problem{Field: field, Key: key, Args: args})
}

// Has reports whether the field has a problem already.
func (f *Form) Has(field string) bool {
	for _, p := range f.Problems {
		if p.Field == field {
			return true
		}
	}
	return false
}

// Refused joins what an entry was refused for; another error, or none, adds
// nothing.
func (f *Form) Refused(err error) {
	var e *logbook.Error
	if errors.As(err, &e) {
		f.Add(e.Problems)
	}
}

// Add joins problems of a validation, but not a second one for a field that
// could not be read.
func (f *Form) Add(problems []logbook.Problem) {
	read := len(f.Problems)
	for _, p := range problems {
		seen := false
		for _, q := range f.Problems[:read] {
			seen = seen || q.Field == p.Field
		}
		if !seen {
			f.Problems = append(f.Problems, p)
		}
	}
}

// Number reads an optional decimal number.
func (f *Form) Number(field string) units.Optional[float64] {
	s := f.Text(field)
	if s == "" {
		return units.None[float64]()
	}
	v, key := logbook.ParseDecimal(s)
	if key != "" {
		f.Fail(field, key, nil)
		return units.None[float64]()
	}
	return units.Some(v)
}

// Optional reads an optional decimal number as a quantity.
func Optional[T ~float64](f *Form, field string) units.Optional[T] {
	if v, ok := f.Number(field).Get(); ok {
		return units.Some(T(v))
	}
	return units.None[T]()
}

// Count reads an optional whole number.
func (f *Form) Count(field string) units.Optional[int] {
	s := f.Text(field)
	if s == "" {
		return units.None[int]()
	}
	n, key := logbook.ParseCount(s)
	if key != "" {
		f.Fail(field, key, nil)
		return units.None[int]()
	}
	return units.Some(n)
}

// Temperature reads an optional temperature; a bare number is in unit def.
func (f *Form) Temperature(field string, def units.TemperatureUnit) (t units.Optional[units.Celsius], typed string,
	unit units.TemperatureUnit) {
	s := f.Text(field)
	if s == "" {
		return t, "", ""
	}
	v, unit, key := logbook.ParseTemperature(s, def)
	if key != "" {
		f.Fail(field, key, nil)
		return t, s, def
	}
	return units.Some(unit.ToCelsius(v)), s, unit
}

// Date reads a date; blank is the zero date.
func (f *Form) Date(field string) civil.Date {
	s := f.Text(field)
	if s == "" {
		return civil.Date{}
	}
	d, key := ParseDate(s)
	if key != "" {
		f.Fail(field, key, nil)
	}
	return d
}

// ParseDate reads YYYY-MM-DD and tells an impossible day from other text.
func ParseDate(s string) (civil.Date, string) {
	d, err := civil.Parse(s)
	if err == nil {
		return d, ""
	}
	shape := strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return '0'
		}
		return r
	}, s)
	if shape == "0000-00-00" {
		return d, "date.impossible"
	}
	return d, "date.not"
}

// ShowProblems turns problems into what the page shows, with the label of each field.
func ShowProblems(p *i18n.Printer, problems []logbook.Problem, label func(field string) string) ui.Problems {
	var out ui.Problems
	for _, x := range problems {
		out = append(out, ui.FieldProblem{Field: x.Field, Label: label(x.Field), Text: p.T(x.Key, x.Args),
			Soft: x.Soft})
	}
	return out
}

// Asked is the value of "was_confirmed" that says yes to each question of the form:
// its fields with their values, one a line. A value that is changed is asked about
// again.
func (f *Form) Asked() string {
	var out []string
	for _, x := range f.Problems {
		if line := x.Field + "=" + f.Text(x.Field); x.Soft && !slices.Contains(out, line) {
			out = append(out, line)
		}
	}
	return strings.Join(out, "\n")
}

func RevisionField(n int64) ui.Option {
	return ui.Option{Value: "revision", Label: strconv.FormatInt(n, 10)}
}

// Revision reads the revision that an edit started from.
func (f *Form) Revision() int64 {
	n, err := strconv.ParseInt(f.Text("revision"), 10, 64)
	if err != nil {
		f.Fail("revision", "error.stale", nil)
	}
	return n
}

// FormKey is the idempotency key of a form: ours, or nothing.
func FormKey(key string) string {
	if len(key) != 26 {
		return ""
	}
	return key
}

// FormReason reads why an entry is corrected: one of the list, with words where
// the list does not say enough. It is stored as "misread: held it upside down".
func FormReason(f *Form) string {
	code, text := f.Text("reason"), f.Text("reason_text")
	switch {
	case code == "":
		f.Fail("reason", "reason.empty", nil)
	case !slices.Contains(words.Reasons, code):
		f.Fail("reason", "choice.unknown", nil)
	case code == "other" && text == "":
		f.Fail("reason_text", "reason.words", nil)
	case len([]rune(text)) > logbook.MaxWords:
		f.Fail("reason_text", "entry.too_long", logbook.Args{"Max": logbook.MaxWords})
	}
	if text == "" {
		return code
	}
	return code + ": " + text
}

// ReadWhy reads why days are changed.
func ReadWhy(f *Form) string {
	why := f.Text("why")
	switch {
	case why == "":
		f.Fail("why", "error.reason", nil)
	case len([]rune(why)) > logbook.MaxReason:
		f.Fail("why", "entry.too_long", logbook.Args{"Max": logbook.MaxReason})
	}
	return why
}

func Unreadable(err error) error {
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		return err
	}
	return &logbook.Error{Kind: logbook.Invalid, Key: "form.unreadable", Err: err}
}
