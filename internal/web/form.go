package web

import (
	"errors"
	"net/http"
	"net/url"
	"strings"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/view"
)

// form reads the fields of a sent form. It keeps every raw value for showing
// again and collects problems; a blank field is absent, never 0.
type form struct {
	values   url.Values
	problems []logbook.Problem
}

// readForm parses the body of a POST.
func readForm(r *http.Request) (*form, error) {
	if err := r.ParseForm(); err != nil {
		var tooLarge *http.MaxBytesError
		if errors.As(err, &tooLarge) {
			return nil, err
		}
		return nil, &logbook.Error{Kind: logbook.Invalid, Key: "form.unreadable", Err: err}
	}
	return &form{values: r.PostForm}, nil
}

// raw returns the value of a field as typed.
func (f *form) raw(field string) string { return f.values.Get(field) }

// text returns a field without surrounding space and invisible characters.
func (f *form) text(field string) string {
	s := strings.Map(func(r rune) rune {
		if r == '\u200b' || r == '\ufeff' || r == 0 {
			return -1
		}
		return r
	}, f.values.Get(field))
	return strings.TrimSpace(s)
}

func (f *form) fail(field, key string, args logbook.Args) {
	f.problems = append(f.problems, logbook.Problem{Field: field, Key: key, Args: args})
}

// has reports whether the field has a problem already.
func (f *form) has(field string) bool {
	for _, p := range f.problems {
		if p.Field == field {
			return true
		}
	}
	return false
}

// add joins problems of a validation, but not a second one for a field that
// could not be read.
func (f *form) add(problems []logbook.Problem) {
	read := len(f.problems)
	for _, p := range problems {
		seen := false
		for _, q := range f.problems[:read] {
			seen = seen || q.Field == p.Field
		}
		if !seen {
			f.problems = append(f.problems, p)
		}
	}
}

// number reads an optional decimal number.
func (f *form) number(field string) units.Optional[float64] {
	s := f.text(field)
	if s == "" {
		return units.None[float64]()
	}
	v, key := logbook.ParseDecimal(s)
	if key != "" {
		f.fail(field, key, nil)
		return units.None[float64]()
	}
	return units.Some(v)
}

// optional reads an optional decimal number as a quantity.
func optional[T ~float64](f *form, field string) units.Optional[T] {
	if v, ok := f.number(field).Get(); ok {
		return units.Some(T(v))
	}
	return units.None[T]()
}

// count reads an optional whole number.
func (f *form) count(field string) units.Optional[int] {
	s := f.text(field)
	if s == "" {
		return units.None[int]()
	}
	n, key := logbook.ParseCount(s)
	if key != "" {
		f.fail(field, key, nil)
		return units.None[int]()
	}
	return units.Some(n)
}

// temperature reads an optional temperature; a bare number is in unit def.
func (f *form) temperature(field string, def units.TemperatureUnit) (t units.Optional[units.Celsius], typed string, unit units.TemperatureUnit) {
	s := f.text(field)
	if s == "" {
		return t, "", ""
	}
	v, unit, key := logbook.ParseTemperature(s, def)
	if key != "" {
		f.fail(field, key, nil)
		return t, s, def
	}
	return units.Some(unit.ToCelsius(v)), s, unit
}

// date reads a date; blank is the zero date.
func (f *form) date(field string) civil.Date {
	s := f.text(field)
	if s == "" {
		return civil.Date{}
	}
	d, key := parseDate(s)
	if key != "" {
		f.fail(field, key, nil)
	}
	return d
}

// parseDate reads YYYY-MM-DD and tells an impossible day from other text.
func parseDate(s string) (civil.Date, string) {
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

// show turns problems into what the page shows, with the label of each field.
func showProblems(p *i18n.Printer, problems []logbook.Problem, label func(field string) string) view.Problems {
	var out view.Problems
	for _, x := range problems {
		out = append(out, view.FieldProblem{Field: x.Field, Label: label(x.Field), Text: p.T(x.Key, x.Args), Soft: x.Soft})
	}
	return out
}
