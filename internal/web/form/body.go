package form

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
	return ParseTree(data)
}

func ParseTree(data []byte) (any, error) {
	p, err := NewTreeParser(data)
	if err != nil {
		return nil, err
	}
	tree, err := p.Value("body", 0)
	if err != nil {
		return nil, NotJSON(p.D.InputOffset())
	}
	return tree, logbook.Refuse(p.Problems)
}

func NotJSON(offset int64) error {
	return logbook.Errorf(logbook.Invalid, "api.not_json", logbook.Args{"Offset": int(offset)})
}

// NewTreeParser reads data after its whole syntax was checked: a body that
// breaks off is no JSON, whatever stands in its first half.
func NewTreeParser(data []byte) (*treeParser, error) {
	if !utf8.Valid(data) {
		return nil, NotJSON(0)
	}
	if !json.Valid(data) {
		d := json.NewDecoder(bytes.NewReader(data))
		var raw json.RawMessage
		if err := d.Decode(&raw); err != nil {
			return nil, NotJSON(d.InputOffset())
		}
		return nil, logbook.Refuse([]logbook.Problem{{Field: "body", Key: "api.trailing", Args: logbook.Args{"Offset": int(d.InputOffset())}}})
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	return &treeParser{D: d}, nil
}

type treeParser struct {
	D        *json.Decoder
	Problems []logbook.Problem
}

var errDeep = errors.New("nested too deep")

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

// joinPath names a field by its place: "temperature.value". The body itself is
// left out of it.
func joinPath(path, name string) string {
	if path == "body" || path == "" {
		return name
	}
	return path + "." + name
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

// JSONText is a number as it was written, "" for anything else.
func JSONText(v any) string {
	n, _ := v.(json.Number)
	return n.String()
}
