package web

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"iter"
	"net/http"
	"slices"
	"sort"
	"strings"
	"time"
	"unicode/utf8"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// maxDepth bounds how deep a body may nest; nothing here needs more than 4.
const maxDepth = 20

// readTree reads a JSON body into maps, lists, strings, booleans and
// json.Number. Text that is no JSON is a bad request; a repeated name or
// something after the value is refused with its place.
func readTree(r *http.Request) (any, error) {
	data, err := io.ReadAll(r.Body)
	if err != nil {
		var tooLarge *http.MaxBytesError
		if errors.As(err, &tooLarge) {
			return nil, err
		}
		return nil, &logbook.Error{Kind: logbook.Invalid, Key: "api.not_json", Args: logbook.Args{"Offset": 0}, Err: err}
	}
	return parseTree(data)
}

func parseTree(data []byte) (any, error) {
	p, err := newTreeParser(data)
	if err != nil {
		return nil, err
	}
	tree, err := p.value("body", 0)
	if err != nil {
		return nil, notJSON(p.d.InputOffset())
	}
	return tree, logbook.Refuse(p.problems)
}

func notJSON(offset int64) error {
	return logbook.Errorf(logbook.Invalid, "api.not_json", logbook.Args{"Offset": int(offset)})
}

// newTreeParser reads data after its whole syntax was checked: a body that
// breaks off is no JSON, whatever stands in its first half.
func newTreeParser(data []byte) (*treeParser, error) {
	if !utf8.Valid(data) {
		return nil, notJSON(0)
	}
	if !json.Valid(data) {
		d := json.NewDecoder(bytes.NewReader(data))
		var raw json.RawMessage
		if err := d.Decode(&raw); err != nil {
			return nil, notJSON(d.InputOffset())
		}
		return nil, logbook.Refuse([]logbook.Problem{{Field: "body", Key: "api.trailing", Args: logbook.Args{"Offset": int(d.InputOffset())}}})
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	return &treeParser{d: d}, nil
}

type treeParser struct {
	d        *json.Decoder
	problems []logbook.Problem
}

var errDeep = errors.New("nested too deep")

func (p *treeParser) value(path string, depth int) (any, error) {
	if depth > maxDepth {
		return nil, errDeep
	}
	t, err := p.d.Token()
	if err != nil {
		return nil, err
	}
	switch t {
	case json.Delim('{'):
		out := map[string]any{}
		for p.d.More() {
			k, err := p.d.Token()
			if err != nil {
				return nil, err
			}
			name, _ := k.(string)
			if _, twice := out[name]; twice && len(p.problems) < maxNamed {
				p.problems = append(p.problems, logbook.Problem{Field: joinPath(path, name), Key: "api.twice"})
			}
			if out[name], err = p.value(joinPath(path, name), depth+1); err != nil {
				return nil, err
			}
		}
		_, err = p.d.Token()
		return out, err
	case json.Delim('['):
		out := []any{}
		for p.d.More() {
			v, err := p.value(fmt.Sprintf("%s[%d]", path, len(out)), depth+1)
			if err != nil {
				return nil, err
			}
			out = append(out, v)
		}
		_, err = p.d.Token()
		return out, err
	}
	return t, nil
}

// joinPath names a field by its place: "temperature.value". The body itself is
// left out of it.
func joinPath(path, name string) string {
	if path == "body" || path == "" {
		return name
	}
	return path + "." + name
}

// object reads the fields of a JSON object and collects what is wrong with
// them. null and absent are the same: nothing was said.
type object struct {
	path     string
	fields   map[string]any
	known    []string
	problems *[]logbook.Problem
}

func newObject(tree any, path string, problems *[]logbook.Problem) *object {
	o := &object{path: path, problems: problems}
	var ok bool
	if o.fields, ok = tree.(map[string]any); !ok {
		*problems = append(*problems, logbook.Problem{Field: path, Key: "api.object"})
	}
	return o
}

// readObject reads a body that must be an object.
func readObject(r *http.Request) (*object, error) {
	tree, err := readTree(r)
	if err != nil {
		return nil, err
	}
	o := newObject(tree, "body", &[]logbook.Problem{})
	return o, logbook.Refuse(*o.problems)
}

func (o *object) fail(name, key string, args logbook.Args) {
	*o.problems = append(*o.problems, logbook.Problem{Field: joinPath(o.path, name), Key: key, Args: args})
}

// failed reports whether a field of the object has a problem.
func (o *object) failed(name string) bool {
	return slices.ContainsFunc(*o.problems, func(p logbook.Problem) bool { return p.Field == joinPath(o.path, name) })
}

func (o *object) get(name string) any {
	o.known = append(o.known, name)
	return o.fields[name]
}

// text reads a string without space around it.
func (o *object) text(name string) string {
	switch v := o.get(name).(type) {
	case nil:
	case string:
		return strings.TrimSpace(strings.ReplaceAll(strings.ReplaceAll(v, "\x00", ""), "\r\n", "\n"))
	default:
		o.fail(name, "api.text", nil)
	}
	return ""
}

// date reads a civil date; the zero date when absent.
func (o *object) date(name string) civil.Date {
	before := len(*o.problems)
	s := o.text(name)
	if s == "" || len(*o.problems) > before {
		return civil.Date{}
	}
	d, key := parseDate(s)
	if key != "" {
		o.fail(name, key, nil)
	}
	return d
}

// instant reads an RFC 3339 instant with its offset; zero when absent.
func (o *object) instant(name string) time.Time {
	before := len(*o.problems)
	s := o.text(name)
	if s == "" || len(*o.problems) > before {
		return time.Time{}
	}
	t, err := time.Parse(time.RFC3339, s)
	if err != nil || t.Year() < 1900 || t.Year() > 9000 {
		o.fail(name, "api.instant", nil)
		return time.Time{}
	}
	return t.UTC()
}

// number reads a finite number.
func (o *object) number(name string) units.Optional[float64] {
	switch v := o.get(name).(type) {
	case nil:
	case json.Number:
		if f, ok := parsePlain(v.String()); ok {
			return units.Some(f)
		}
		o.fail(name, "number.not", nil)
	default:
		o.fail(name, "number.not", nil)
	}
	return units.None[float64]()
}

// numberOf reads a number as a quantity.
func numberOf[T ~float64](o *object, name string) units.Optional[T] {
	v := o.number(name)
	return units.Optional[T]{V: T(v.V), OK: v.OK}
}

// whole reads a whole number.
func (o *object) whole(name string) units.Optional[int] {
	before := len(*o.problems)
	v := o.number(name)
	switch {
	case len(*o.problems) > before:
		(*o.problems)[before].Key = "number.not_whole"
	case v.OK && (v.V != float64(int(v.V)) || v.V > 1e9 || v.V < -1e9):
		o.fail(name, "number.not_whole", nil)
	case v.OK:
		return units.Some(int(v.V))
	}
	return units.None[int]()
}

// flag reads true or false; false when absent.
func (o *object) flag(name string) bool {
	switch v := o.get(name).(type) {
	case nil:
	case bool:
		return v
	default:
		o.fail(name, "api.true_false", nil)
	}
	return false
}

// inner reads an object; nil when absent.
func (o *object) inner(name string) *object {
	v := o.get(name)
	if v == nil {
		return nil
	}
	return newObject(v, joinPath(o.path, name), o.problems)
}

// items reads a list of at most most items, empty when absent. It ends where
// more is wrong than an answer lists: what a stranger sends costs no more work.
func (o *object) items(name string, most int) iter.Seq2[int, any] {
	return func(yield func(int, any) bool) {
		list, ok := o.get(name).([]any)
		switch {
		case !ok && o.fields[name] != nil:
			o.fail(name, "api.list", nil)
			return
		case len(list) > most:
			o.fail(name, "api.too_many", logbook.Args{"Max": most})
			return
		}
		for i, v := range list {
			if len(*o.problems) > maxNamed || !yield(i, v) {
				return
			}
		}
	}
}

// objects reads a list of at most most objects.
func (o *object) objects(name string, most int) iter.Seq[*object] {
	return func(yield func(*object) bool) {
		for i, v := range o.items(name, most) {
			if !yield(newObject(v, fmt.Sprintf("%s[%d]", joinPath(o.path, name), i), o.problems)) {
				return
			}
		}
	}
}

// listItem reads one plain value of a list with the methods of an object.
type listItem struct {
	*object
	item string // the name under which to read it
}

func newListItem(v any, name string, i int, problems *[]logbook.Problem) listItem {
	item := fmt.Sprintf("%s[%d]", name, i)
	return listItem{object: &object{fields: map[string]any{item: v}, problems: problems}, item: item}
}

// words reads a list of strings.
func (o *object) words(name string) []string {
	var out []string
	for i, v := range o.items(name, maxWords) {
		s, ok := v.(string)
		if !ok {
			o.fail(fmt.Sprintf("%s[%d]", name, i), "api.text", nil)
		}
		out = append(out, s)
	}
	return out
}

// end refuses fields that were not asked for.
func (o *object) end() {
	if o == nil {
		return
	}
	var unknown []string
	for name := range o.fields {
		if !slices.Contains(o.known, name) {
			unknown = append(unknown, name)
		}
	}
	sort.Strings(unknown)
	for _, name := range unknown[:min(len(unknown), maxNamed)] {
		o.fail(name, "api.unknown_field", nil)
	}
}

// maxNamed bounds how many problems of one kind an answer lists.
const maxNamed = 50

// maxWords bounds a list of names of fields.
const maxWords = 100

// jsonText is a number as it was written, "" for anything else.
func jsonText(v any) string {
	n, _ := v.(json.Number)
	return n.String()
}
