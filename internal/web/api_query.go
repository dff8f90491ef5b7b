package web

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

// query reads the parameters of an address strictly: an unknown, repeated or
// empty one is refused by name, so that a typing mistake never goes unnoticed.
type query struct {
	values   url.Values
	known    []string
	problems []logbook.Problem
}

func readQuery(r *http.Request) *query {
	q := &query{}
	var err error
	if q.values, err = url.ParseQuery(r.URL.RawQuery); err != nil {
		q.fail("query", "api.query", nil)
	}
	return q
}

func (q *query) fail(field, key string, args logbook.Args) {
	q.problems = append(q.problems, logbook.Problem{Field: field, Key: key, Args: args})
}

// text returns an optional parameter.
func (q *query) text(name string) string {
	q.known = append(q.known, name)
	list, ok := q.values[name]
	switch {
	case !ok:
		return ""
	case len(list) > 1:
		q.fail(name, "api.twice", nil)
		return ""
	case list[0] == "":
		q.fail(name, "api.empty", nil)
	}
	return list[0]
}

// choice returns an optional parameter that must be one of some words.
func (q *query) choice(name string, words ...string) string {
	s := q.text(name)
	if s != "" && !slices.Contains(words, s) {
		q.fail(name, "choice.unknown", nil)
	}
	return s
}

// plainNumber is a decimal number as programs write it. NaN, Inf and
// hexadecimal, which ParseFloat also reads, do not match.
var plainNumber = regexp.MustCompile(`^-?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,4})?$`)

func parsePlain(s string) (float64, bool) {
	if len(s) > 64 || !plainNumber.MatchString(s) {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil && units.Finite(v)
}

// number reads an optional number.
func (q *query) number(name string) units.Optional[float64] {
	s := q.text(name)
	if s == "" {
		return units.None[float64]()
	}
	v, ok := parsePlain(s)
	if !ok {
		q.fail(name, "number.not", nil)
	}
	return units.Optional[float64]{V: v, OK: ok}
}

// need reads a number that must be there.
func (q *query) need(name string) float64 {
	v := q.number(name)
	if _, sent := q.values[name]; !sent {
		q.fail(name, "api.missing", nil)
	}
	return v.V
}

// needWhole reads a whole number between low and high that must be there.
func (q *query) needWhole(name string, low, high int) int {
	before := len(q.problems)
	v := q.need(name)
	if len(q.problems) == before && (v != float64(int(v)) || v < float64(low) || v > float64(high)) {
		q.fail(name, "number.whole_between", logbook.Args{"Min": low, "Max": high})
	}
	return int(v)
}

// done refuses the request when anything was wrong with its parameters.
func (q *query) done() error {
	var unknown []string
	for name := range q.values {
		if !slices.Contains(q.known, name) {
			unknown = append(unknown, name)
		}
	}
	sort.Strings(unknown)
	for _, name := range unknown[:min(len(unknown), maxNamed)] {
		q.fail(name, "api.unknown_parameter", nil)
	}
	return logbook.Refuse(q.problems)
}

// noQuery refuses any parameter.
func noQuery(r *http.Request) error { return readQuery(r).done() }
