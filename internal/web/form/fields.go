package form

import (
	"strconv"
	"strings"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/words"
)

// ReadFields reads fields of a sent form into a row, by the names of their questions;
// temperatures without a unit are in that given. Problems of fields that cannot be
// read are collected in f.
func ReadFields[T any](f *Form, fields []logbook.Field[T], unit units.TemperatureUnit, row *T) {
	for _, field := range logbook.Asked(fields) {
		readField(f, field.Question(), &field, unit, row)
	}
}

func readField[T any](f *Form, name string, field *logbook.Field[T], unit units.TemperatureUnit, row *T) {
	number := func(v float64, ok bool) { field.SetNumber(row, units.Optional[float64]{V: v, OK: ok}) }
	switch {
	case field.Type == logbook.OfClock:
		field.SetText(row, ReadTime(f, name))
	case field.Type == logbook.OfNote:
		field.SetText(row, ReadNote(f, name))
	case field.IsText():
		field.SetText(row, f.Text(name))
	case field.Type == logbook.OfDay:
		*field.Day(row) = readDay(f, name)
	case field.Type == logbook.OfNumbers:
		field.SetList(row, readNumbers(f, name))
	case field.Type == logbook.OfWhole:
		n := f.Count(name)
		number(float64(n.V), n.OK)
	case field.Type == logbook.OfTemperature:
		t, text, u := f.Temperature(name, unit)
		entered, typed := field.Typed(row)
		*entered, *typed = text, u
		number(float64(t.V), t.OK)
	case field.Unit == "Cel":
		t, _, _ := f.Temperature(name, unit)
		number(float64(t.V), t.OK)
	case field.Unit == "Cel.d":
		tu := ReadThermalUnits(f)
		number(float64(tu.V), tu.OK)
	default:
		v := f.Number(name)
		number(v.V, v.OK)
	}
}

// readDay reads the day tiles of a form: a date, or "other" with a date field.
func readDay(f *Form, field string) civil.Date {
	tile, other := f.Text(field), f.Text(field+"_other")
	if tile == "other" || tile == "" {
		tile = other
	} else if other != "" && other != tile {
		// The tile of today is chosen beforehand, so a date typed beside it is
		// never silently dropped.
		f.Fail(field, "check_form.two_days", nil)
	}
	if tile == "" {
		return civil.Date{}
	}
	d, key := ParseDate(tile)
	if key != "" {
		f.Fail(field, key, nil)
	}
	return d
}

// readNumbers reads a list of numbers as typed: spaces, semicolons or lines
// between; a comma with a space behind it also parts two numbers, else it is a
// decimal mark.
func readNumbers(f *Form, field string) []float64 {
	var out []float64
	text := strings.NewReplacer(", ", " ", ";", " ").Replace(f.Text(field))
	for _, word := range strings.Fields(text) {
		v, key := logbook.ParseDecimal(word)
		if key != "" {
			f.Fail(field, "sample.list", logbook.Args{"Word": word})
			return nil
		}
		out = append(out, v)
	}
	return out
}

// Values are the values of a form that say what a row says, so that they read back
// as the same row; temperatures are in the unit given.
func Values[T any](p *i18n.Printer, fields []logbook.Field[T], unit units.TemperatureUnit, row *T) map[string]string {
	out := map[string]string{}
	for _, f := range logbook.Asked(fields) {
		out[f.Question()] = value(p, &f, unit, row)
	}
	return out
}

// Filled is a form with the values that say what a row says.
func Filled[T any](p *i18n.Printer, fields []logbook.Field[T], unit units.TemperatureUnit, row *T,
	revision int64) *Form {
	f := NewForm()
	for name, value := range Values(p, fields, unit, row) {
		f.Set(name, value)
	}
	f.Set("revision", strconv.FormatInt(revision, 10))
	return f
}

func value[T any](p *i18n.Printer, f *logbook.Field[T], unit units.TemperatureUnit, row *T) string {
	switch {
	case f.IsText(), f.Type == logbook.OfDay:
		return f.Plain(row)
	case f.Type == logbook.OfNumbers:
		return words.TypedList(p, f.List(row))
	}
	v, ok := f.Number(row).Get()
	switch {
	case !ok:
		return ""
	case f.Type == logbook.OfTemperature:
		entered, typed := f.Typed(row)
		if s := *entered; s != "" {
			return typedTemperature(s, *typed, units.Celsius(v), unit)
		}
	}
	if f.Unit == "Cel" { // rounding takes away the noise of the conversion: 45.5 F is 7.5 C
		v = units.Round(unit.FromCelsius(units.Celsius(v)), 6)
	}
	return words.Typed(p, v)
}

// typedTemperature is the text as it was typed, with its unit when that is not the
// one of the field.
func typedTemperature(text string, typed units.TemperatureUnit, t units.Celsius, site units.TemperatureUnit) string {
	// Read back in the field's unit it must be the stored value.
	if v, unit, key := logbook.ParseTemperature(text, site); key == "" && unit.ToCelsius(v) == t {
		return text
	}
	if typed == units.DegF {
		return text + " F"
	}
	return text + " C"
}
