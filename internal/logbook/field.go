package logbook

import (
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// FieldType is what a field holds.
type FieldType int

// The types of field.
const (
	OfText        FieldType = iota // one line
	OfNote                         // text with lines
	OfClock                        // HH:MM on the wall, or empty
	OfChoice                       // one of Field.Choices
	OfDay                          // civil date
	OfNumber                       // measured; a temperature where Unit is Cel
	OfWhole                        // counted
	OfNumbers                      // a list of measured values
	OfTemperature                  // a temperature with the text and the unit in which it was typed
)

// Field is one field of an entry T: what it is called, what it may hold, and how it
// is read and set. Forms, JSON, CSV, database, texts and the description of the
// interface are loops over the fields of a kind. Layout and what joins several
// fields stand elsewhere.
type Field[T any] struct {
	Name string // in forms, problems and texts
	access[T]
	JSON   string // where it is not Name; "dead.eggs" stands in the object dead
	CSV    string // column of exports, where it is not JSON, or Name when JSON has a point
	Column string // of the database, where it is not that of exports
	Ask    string // question of the guided pages, where it is not Name

	About string // in the description of exports
	Unit  string // UCUM
	Term  string // URI of the Darwin Core term that it fits

	Min, Max float64 // of a number; Max 0: the value is judged by hand
	Most     int     // characters of a text; 0: no limit of its own
	Wrong    string  // catalogue key about a choice that is none, where it has its own
	Must     bool    // a create by JSON has to give it
	Test     bool    // a test of the water
	Aside    bool    // says nothing of the tank by itself
	Kept     bool    // stored and exported, but not asked
}

const dwc = "http://rs.tdwg.org/dwc/terms/"

// access is how a field is read and set, by its type.
type access[T any] struct {
	Type    FieldType
	Choices []string // of a choice, in the order of lists

	key     func(string) string // of the catalogue, of a choice
	text    func(*T) string
	setText func(*T, string)
	day     func(*T) *civil.Date
	num     func(*T) units.Optional[float64]
	setNum  func(*T, units.Optional[float64])
	value   func(*T) any // of texts and numbers, nil when absent
	list    func(*T) []float64
	setList func(*T, []float64)
	typed   func(*T) (*string, *units.TemperatureUnit)
}

func text[T any, S ~string](to func(*T) *S) access[T] {
	return access[T]{text: func(r *T) string { return string(*to(r)) }, setText: func(r *T, s string) { *to(r) = S(s) },
		value: func(r *T) any { return string(*to(r)) }}
}

func note[T any](to func(*T) *string) access[T] { return as(OfNote, text(to)) }

func clock[T any](to func(*T) *string) access[T] { return as(OfClock, text(to)) }

func as[T any](t FieldType, a access[T]) access[T] {
	a.Type = t
	return a
}

func choice[T any, S interface {
	~string
	MessageKey() string
}](list []S, to func(*T) *S) access[T] {
	a := as(OfChoice, text(to))
	a.key = func(s string) string { return S(s).MessageKey() }
	a.value = func(r *T) any {
		if v := *to(r); v != "" {
			return v
		}
		return nil
	}
	for _, v := range list {
		a.Choices = append(a.Choices, string(v))
	}
	return a
}

func date[T any](to func(*T) *civil.Date) access[T] { return access[T]{Type: OfDay, day: to} }

func number[T any, N ~float64](to func(*T) *units.Optional[N]) access[T] {
	return optional(OfNumber, to)
}

func whole[T any](to func(*T) *units.Optional[int]) access[T] { return optional(OfWhole, to) }

// optional is a number that may be absent.
func optional[T any, N ~float64 | ~int](t FieldType, to func(*T) *units.Optional[N]) access[T] {
	return access[T]{Type: t,
		num: func(r *T) units.Optional[float64] {
			return units.Optional[float64]{V: float64(to(r).V), OK: to(r).OK}
		},
		setNum: func(r *T, v units.Optional[float64]) { *to(r) = units.Optional[N]{V: N(v.V), OK: v.OK} },
		value: func(r *T) any {
			if v, ok := to(r).Get(); ok {
				return v
			}
			return nil
		}}
}

// plain is a number that is never absent.
func plain[T any, N ~float64 | ~int](t FieldType, to func(*T) *N) access[T] {
	return access[T]{Type: t,
		num:    func(r *T) units.Optional[float64] { return units.Some(float64(*to(r))) },
		setNum: func(r *T, v units.Optional[float64]) { *to(r) = N(v.V) },
		value:  func(r *T) any { return *to(r) }}
}

func numbers[T any, N ~float64](to func(*T) *[]N) access[T] {
	return access[T]{Type: OfNumbers,
		list: func(r *T) []float64 {
			var out []float64
			for _, v := range *to(r) {
				out = append(out, float64(v))
			}
			return out
		},
		setList: func(r *T, list []float64) {
			*to(r) = nil
			for _, v := range list {
				*to(r) = append(*to(r), N(v))
			}
		}}
}

// confirmed are the fields whose surprising value a person confirmed, with spaces
// between.
func confirmed[T any](to func(*T) *[]string) access[T] {
	return access[T]{text: func(r *T) string { return strings.Join(*to(r), " ") },
		setText: func(r *T, s string) { *to(r) = append([]string(nil), strings.Fields(s)...) }}
}

// JSONName is the name in JSON.
func (f *Field[T]) JSONName() string { return or(f.JSON, f.Name) }

// CSVName is the name of the column of exports.
func (f *Field[T]) CSVName() string {
	if f.CSV == "" && !strings.Contains(f.JSON, ".") {
		return f.JSONName()
	}
	return or(f.CSV, f.Name)
}

// ColumnName is the name of the column of the database.
func (f *Field[T]) ColumnName() string { return or(f.Column, f.CSVName()) }

// Question is the name of the question of guided pages.
func (f *Field[T]) Question() string { return or(f.Ask, f.Name) }

func or(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// IsText reports whether the value is a text: Text, Note, Clock or Choice.
func (f *Field[T]) IsText() bool { return f.Type <= OfChoice }

// Text is the value of a text, "" when nothing was said.
func (f *Field[T]) Text(r *T) string { return f.text(r) }

// SetText sets a text.
func (f *Field[T]) SetText(r *T, s string) { f.setText(r, s) }

// MessageKey is the catalogue key of a value of a choice.
func (f *Field[T]) MessageKey(choice string) string { return f.key(choice) }

// Day is the value of a day, to be read and set.
func (f *Field[T]) Day(r *T) *civil.Date { return f.day(r) }

// Number is the value of a Number, Whole or Measured.
func (f *Field[T]) Number(r *T) units.Optional[float64] { return f.num(r) }

// SetNumber sets a Number, Whole or Measured.
func (f *Field[T]) SetNumber(r *T, v units.Optional[float64]) { f.setNum(r, v) }

// Quantity is a number or a choice with its Go type, nil when it is absent, or a text.
func (f *Field[T]) Quantity(r *T) any { return f.value(r) }

// List is the value of Numbers.
func (f *Field[T]) List(r *T) []float64 { return f.list(r) }

// SetList sets Numbers.
func (f *Field[T]) SetList(r *T, list []float64) { f.setList(r, list) }

// Typed is how a Measured was typed, and in which unit.
func (f *Field[T]) Typed(r *T) (entered *string, unit *units.TemperatureUnit) { return f.typed(r) }

// Said reports whether the field holds anything.
func (f *Field[T]) Said(r *T) bool {
	switch {
	case f.IsText():
		return f.text(r) != ""
	case f.Type == OfDay:
		return !f.day(r).IsZero()
	case f.Type == OfNumbers:
		return len(f.list(r)) > 0
	}
	return f.num(r).OK
}

// Plain writes the value for programs: numbers with a point and every decimal,
// lists with spaces between, "" when nothing was said.
func (f *Field[T]) Plain(r *T) string {
	switch {
	case f.IsText():
		return f.text(r)
	case f.Type == OfDay:
		return f.day(r).String()
	case f.Type == OfNumbers:
		var out []string
		for _, v := range f.list(r) {
			out = append(out, strconv.FormatFloat(v, 'f', -1, 64))
		}
		return strings.Join(out, " ")
	}
	if v, ok := f.num(r).Get(); ok {
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	return ""
}

// Asked are the fields that a person or a program fills in.
func Asked[T any](fields []Field[T]) []Field[T] {
	return slices.DeleteFunc(slices.Clone(fields), func(f Field[T]) bool { return f.Kept })
}

// Names are the names of the fields that are asked, in order.
func Names[T any](fields []Field[T]) []string {
	var out []string
	for _, f := range Asked(fields) {
		out = append(out, f.Name)
	}
	return out
}

// FieldOf returns the field of a name, or nil.
func FieldOf[T any](fields []Field[T], name string) *Field[T] {
	for i := range fields {
		if fields[i].Name == name {
			return &fields[i]
		}
	}
	return nil
}

// judge returns what is wrong with the values of fields, each by itself.
func judge[T any](r *T, fields []Field[T]) []Problem {
	var out []Problem
	for i := range fields {
		if key, args := fields[i].judge(r); key != "" {
			out = append(out, Problem{Field: fields[i].Name, Key: key, Args: args})
		}
	}
	return out
}

func (f *Field[T]) judge(r *T) (key string, args Args) {
	switch f.Type {
	case OfChoice:
		if s := f.text(r); (s != "" || f.Must) && !slices.Contains(f.Choices, s) {
			return or(f.Wrong, "choice.unknown"), nil
		}
	case OfClock:
		if s := f.text(r); s != "" {
			if _, err := time.Parse("15:04", s); err != nil {
				return "check.time", nil
			}
		}
	case OfText, OfNote:
		if f.Most > 0 && utf8.RuneCountInString(f.text(r)) > f.Most {
			return "entry.too_long", Args{"Max": f.Most}
		}
	case OfNumber, OfWhole:
		v, ok := f.num(r).Get()
		if !ok || f.Max == 0 || units.Finite(v) && v >= f.Min && v <= f.Max {
			return "", nil
		}
		switch {
		case f.Type == OfWhole:
			return "number.whole_between", Args{"Min": int(f.Min), "Max": int(f.Max)}
		case f.Unit == "Cel":
			return "temperature.between", Args{"Min": units.Celsius(f.Min), "Max": units.Celsius(f.Max)}
		}
		return "number.between", Args{"Min": f.Min, "Max": f.Max}
	}
	return "", nil
}
