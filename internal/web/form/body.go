package form

import (
	"encoding/json"
	"fmt"
	"iter"
	"net/http"
	"slices"
	"sort"
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

func (p *treeParser) Value(path string, depth int) (any, error) {
	if depth > maxDepth {
		return nil, errDeep
	}
	t, err := p.D.Token()
	if err != nil {
		return nil, err
	}
	switch t {
	case json.Delim('{'):
		out := map[string]any{}
		for p.D.More() {
			k, err := p.D.Token()
			if err != nil {
				return nil, err
			}
			name, _ := k.(string)
			if _, twice := out[name]; twice && len(p.Problems) < MaxNamed {
				p.Problems = append(p.Problems, logbook.Problem{Field: joinPath(path, name), Key: "api.twice"})
			}
			if out[name], err = p.Value(joinPath(path, name), depth+1); err != nil {
				return nil, err
			}
		}
		_, err = p.D.Token()
		return out, err
	case json.Delim('['):
		out := []any{}
		for p.D.More() {
			v, err := p.Value(fmt.Sprintf("%s[%d]", path, len(out)), depth+1)
			if err != nil {
				return nil, err
			}
			out = append(out, v)
		}
		_, err = p.D.Token()
		return out, err
	}
	return t, nil
}

// Object reads the fields of a JSON object and collects what is wrong with
// them. null and absent are the same: nothing was said.
type Object struct {
	Path     string
	Fields   map[string]any
	Known    []string
	Problems *[]logbook.Problem
}

func NewObject(tree any, path string, problems *[]logbook.Problem) *Object {
	o := &Object{Path: path, Problems: problems}
	var ok bool
	if o.Fields, ok = tree.(map[string]any); !ok {
		*problems = append(*problems, logbook.Problem{Field: path, Key: "api.object"})
	}
	return o
}

// ReadObject reads a body that must be an object.
func ReadObject(r *http.Request) (*Object, error) {
	tree, err := readTree(r)
	if err != nil {
		return nil, err
	}
	o := NewObject(tree, "body", &[]logbook.Problem{})
	return o, logbook.Refuse(*o.Problems)
}

func (o *Object) Fail(name, key string, args logbook.Args) {
	*o.Problems = append(*o.Problems, logbook.Problem{Field: joinPath(o.Path, name), Key: key, Args: args})
}

// Failed reports whether a field of the object has a problem.
func (o *Object) Failed(name string) bool {
	return slices.ContainsFunc(*o.Problems, func(p logbook.Problem) bool { return p.Field == joinPath(o.Path, name) })
}

func (o *Object) get(name string) any {
	o.Known = append(o.Known, name)
	return o.Fields[name]
}

// Text reads a string without space around it.
func (o *Object) Text(name string) string {
	switch v := o.get(name).(type) {
	case nil:
	case string:
		return strings.TrimSpace(strings.ReplaceAll(strings.ReplaceAll(v, "\x00", ""), "\r\n", "\n"))
	default:
		o.Fail(name, "api.text", nil)
	}
	return ""
}

// Date reads a civil date; the zero date when absent.
func (o *Object) Date(name string) civil.Date {
	before := len(*o.Problems)
	s := o.Text(name)
	if s == "" || len(*o.Problems) > before {
		return civil.Date{}
	}
	d, key := ParseDate(s)
	if key != "" {
		o.Fail(name, key, nil)
	}
	return d
}

// Instant reads an RFC 3339 instant with its offset; zero when absent.
func (o *Object) Instant(name string) time.Time {
	before := len(*o.Problems)
	s := o.Text(name)
	if s == "" || len(*o.Problems) > before {
		return time.Time{}
	}
	t, err := time.Parse(time.RFC3339, s)
	if err != nil || t.Year() < 1900 || t.Year() > 9000 {
		o.Fail(name, "api.instant", nil)
		return time.Time{}
	}
	return t.UTC()
}

// Number reads a finite number.
func (o *Object) Number(name string) units.Optional[float64] {
	switch v := o.get(name).(type) {
	case nil:
	case json.Number:
		if f, ok := ParsePlain(v.String()); ok {
			return units.Some(f)
		}
		o.Fail(name, "number.not", nil)
	default:
		o.Fail(name, "number.not", nil)
	}
	return units.None[float64]()
}

// NumberOf reads a number as a quantity.
func NumberOf[T ~float64](o *Object, name string) units.Optional[T] {
	v := o.Number(name)
	return units.Optional[T]{V: T(v.V), OK: v.OK}
}

// Whole reads a whole number.
func (o *Object) Whole(name string) units.Optional[int] {
	before := len(*o.Problems)
	v := o.Number(name)
	switch {
	case len(*o.Problems) > before:
		(*o.Problems)[before].Key = "number.not_whole"
	case v.OK && (v.V != float64(int(v.V)) || v.V > 1e9 || v.V < -1e9):
		o.Fail(name, "number.not_whole", nil)
	case v.OK:
		return units.Some(int(v.V))
	}
	return units.None[int]()
}

// Flag reads true or false; false when absent.
func (o *Object) Flag(name string) bool {
	switch v := o.get(name).(type) {
	case nil:
	case bool:
		return v
	default:
		o.Fail(name, "api.true_false", nil)
	}
	return false
}

// Inner reads an object; nil when absent.
func (o *Object) Inner(name string) *Object {
	v := o.get(name)
	if v == nil {
		return nil
	}
	return NewObject(v, joinPath(o.Path, name), o.Problems)
}

// Items reads a list of at most most items, empty when absent. It ends where
// more is wrong than an answer lists: what a stranger sends costs no more work.
func (o *Object) Items(name string, most int) iter.Seq2[int, any] {
	return func(yield func(int, any) bool) {
		list, ok := o.get(name).([]any)
		switch {
		case !ok && o.Fields[name] != nil:
			o.Fail(name, "api.list", nil)
			return
		case len(list) > most:
			o.Fail(name, "api.too_many", logbook.Args{"Max": most})
			return
		}
		for i, v := range list {
			if len(*o.Problems) > MaxNamed || !yield(i, v) {
				return
			}
		}
	}
}

// Objects reads a list of at most most objects.
func (o *Object) Objects(name string, most int) iter.Seq[*Object] {
	return func(yield func(*Object) bool) {
		for i, v := range o.Items(name, most) {
			if !yield(NewObject(v, fmt.Sprintf("%s[%d]", joinPath(o.Path, name), i), o.Problems)) {
				return
			}
		}
	}
}

// listItem reads one plain value of a list with the methods of an object.
type listItem struct {
	*Object
	Item string // the name under which to read it
}

func NewListItem(v any, name string, i int, problems *[]logbook.Problem) listItem {
	item := fmt.Sprintf("%s[%d]", name, i)
	return listItem{Object: &Object{Fields: map[string]any{item: v}, Problems: problems}, Item: item}
}

// Words reads a list of strings.
func (o *Object) Words(name string) []string {
	var out []string
	for i, v := range o.Items(name, maxWords) {
		s, ok := v.(string)
		if !ok {
			o.Fail(fmt.Sprintf("%s[%d]", name, i), "api.text", nil)
		}
		out = append(out, s)
	}
	return out
}

// End refuses fields that were not asked for.
func (o *Object) End() {
	if o == nil {
		return
	}
	var unknown []string
	for name := range o.Fields {
		if !slices.Contains(o.Known, name) {
			unknown = append(unknown, name)
		}
	}
	sort.Strings(unknown)
	for _, name := range unknown[:min(len(unknown), MaxNamed)] {
		o.Fail(name, "api.unknown_field", nil)
	}
}

// MaxNamed bounds how many problems of one kind an answer lists.
const MaxNamed = 50

// maxWords bounds a list of names of fields.
const maxWords = 100

// Renamed gives problems the names of the JSON fields where they differ from
// those of the domain.
func Renamed(problems []logbook.Problem, names map[string]string) []logbook.Problem {
	for i := range problems {
		if n := names[problems[i].Field]; n != "" {
			problems[i].Field = n
		}
	}
	return problems
}
