package form

import (
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"sort"
	"strconv"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// Query reads the parameters of an address strictly: an unknown, repeated or
// empty one is refused by name, so that a typing mistake never goes unnoticed.
type Query struct {
	Values   url.Values
	known    []string
	Problems []logbook.Problem
}

func ReadQuery(r *http.Request) *Query {
	q := &Query{}
	var err error
	if q.Values, err = url.ParseQuery(r.URL.RawQuery); err != nil {
		q.Fail("query", "api.query", nil)
	}
	return q
}

func (q *Query) Fail(field, key string, args logbook.Args) {
	q.Problems = append(q.Problems, logbook.Problem{Field: field, Key: key, Args: args})
}

// Text returns an optional parameter.
func (q *Query) Text(name string) string {
	q.known = append(q.known, name)
	list, ok := q.Values[name]
	switch {
	case !ok:
		return ""
	case len(list) > 1:
		q.Fail(name, "api.twice", nil)
		return ""
	case list[0] == "":
		q.Fail(name, "api.empty", nil)
	}
	return list[0]
}

// Choice returns an optional parameter that must be one of some words.
func (q *Query) Choice(name string, words ...string) string {
	s := q.Text(name)
	if s != "" && !slices.Contains(words, s) {
		q.Fail(name, "choice.unknown", nil)
	}
	return s
}

// plainNumber is a decimal number as programs write it. NaN, Inf and
// hexadecimal, which ParseFloat also reads, do not match.
var plainNumber = regexp.MustCompile(`^-?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,4})?$`)

func ParsePlain(s string) (float64, bool) {
	if len(s) > 64 || !plainNumber.MatchString(s) {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil && units.Finite(v)
}

// Number reads an optional number.
func (q *Query) Number(name string) units.Optional[float64] {
	s := q.Text(name)
	if s == "" {
		return units.None[float64]()
	}
	v, ok := ParsePlain(s)
	if !ok {
		q.Fail(name, "number.not", nil)
	}
	return units.Optional[float64]{V: v, OK: ok}
}

// Need reads a number that must be there.
func (q *Query) Need(name string) float64 {
	v := q.Number(name)
	if _, sent := q.Values[name]; !sent {
		q.Fail(name, "api.missing", nil)
	}
	return v.V
}

// NeedWhole reads a whole number between low and high that must be there.
func (q *Query) NeedWhole(name string, low, high int) int {
	before := len(q.Problems)
	v := q.Need(name)
	if len(q.Problems) == before && (v != float64(int(v)) || v < float64(low) || v > float64(high)) {
		q.Fail(name, "number.whole_between", logbook.Args{"Min": low, "Max": high})
	}
	return int(v)
}

// Done refuses the request when anything was wrong with its parameters.
func (q *Query) Done() error {
	var unknown []string
	for name := range q.Values {
		if !slices.Contains(q.known, name) {
			unknown = append(unknown, name)
		}
	}
	sort.Strings(unknown)
	for _, name := range unknown[:min(len(unknown), MaxNamed)] {
		q.Fail(name, "api.unknown_parameter", nil)
	}
	return logbook.Refuse(q.Problems)
}

// NoQuery refuses any parameter.
func NoQuery(r *http.Request) error { return ReadQuery(r).Done() }
