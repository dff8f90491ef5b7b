package words

import (
	"slices"
	"strconv"
	"strings"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// The names of the fields of entries, in the order in which they are shown.
var (
	CheckFields  = logbook.Names(logbook.CheckFields())
	EventFields  = logbook.Names(logbook.EventFields())
	SampleFields = logbook.Names(logbook.SampleFields())
)

// CheckText writes one field of a check for reading, "" when nothing was said.
func CheckText(p *i18n.Printer, c *logbook.Check, field string) string {
	if field == "temperature" {
		return TemperatureText(p, c)
	}
	return fieldText(p, logbook.CheckFields(), field, c)
}

// EventText writes one field of an event for reading, "" when nothing was said.
func EventText(p *i18n.Printer, e *logbook.Event, field string) string {
	return fieldText(p, logbook.EventFields(), field, e)
}

// SampleText writes one field of a sample for reading, "" when nothing was said.
func SampleText(p *i18n.Printer, m *logbook.Sample, field string) string {
	return fieldText(p, logbook.SampleFields(), field, m)
}

func fieldText[T any](p *i18n.Printer, fields []logbook.Field[T], name string, row *T) string {
	f := logbook.FieldOf(fields, name)
	if f == nil || !f.Said(row) {
		return ""
	}
	switch f.Type {
	case logbook.OfChoice:
		return p.T(f.MessageKey(f.Text(row)))
	case logbook.OfText, logbook.OfNote, logbook.OfClock:
		return f.Text(row)
	case logbook.OfDay:
		return p.DateWeekday(*f.Day(row))
	case logbook.OfNumbers:
		return TypedList(p, f.List(row))
	case logbook.OfWhole:
		return p.Count(int(f.Number(row).V))
	}
	v := f.Number(row).V
	switch f.Unit {
	case "Cel":
		return p.Temp(units.Celsius(v))
	case "", "1", "[pH]", "h", "min": // the label says it
		return Typed(p, v)
	}
	return Typed(p, v) + "\u00a0" + strings.Trim(f.Unit, "{}")
}

// EventLabel is the label of a field of an event.
func EventLabel(p *i18n.Printer, field string) string {
	return p.T("event.field."+field, map[string]any{"Unit": p.UnitSymbol()})
}

// TemperatureText writes the temperature in the reader's unit and, when it was
// typed in the other one, also as typed.
func TemperatureText(p *i18n.Printer, c *logbook.Check) string {
	t, ok := c.Temperature.Get()
	if !ok {
		return ""
	}
	if c.TemperatureEntered != "" && c.TemperatureUnit != p.Unit() {
		return p.T("check_page.typed", map[string]any{"Value": t, "Typed": c.TemperatureEntered,
			"Unit": c.TemperatureUnit})
	}
	return p.Temp(t)
}

// Typed writes a number so that it reads back as the same number.
func Typed(p *i18n.Printer, v float64) string {
	return strings.Replace(strconv.FormatFloat(v, 'f', -1, 64), ".", p.T("format.decimal"), 1)
}

// TypedList writes numbers so that they read back as the same numbers.
func TypedList(p *i18n.Printer, list []float64) string {
	var out []string
	for _, v := range list {
		out = append(out, Typed(p, v))
	}
	return strings.Join(out, " ")
}

// TypedText writes what was sent in a field of a form as a person reads it: days and
// choices in words, anything else as it was typed.
func TypedText(p *i18n.Printer, field, sent string) string {
	if d, err := civil.Parse(sent); err == nil {
		return p.Date(d)
	}
	if field == "reason" {
		return ReasonText(p, sent)
	}
	for _, key := range []string{choiceKey(logbook.CheckFields(), field, sent), choiceKey(logbook.EventFields(), field,
		sent),
		choiceKey(logbook.DeliveryFields(), field, sent), choiceKey(logbook.ReleaseFields(), field, sent)} {
		if key != "" {
			return p.T(key)
		}
	}
	return sent
}

// choiceKey is the catalogue key of a choice, "" when the question has no such one.
func choiceKey[T any](fields []logbook.Field[T], question, sent string) string {
	for i := range fields {
		if f := &fields[i]; f.Question() == question && slices.Contains(f.Choices, sent) {
			return f.MessageKey(sent)
		}
	}
	return ""
}

// Word writes a choice, "" for none.
func Word[T interface {
	~string
	MessageKey() string
}](p *i18n.Printer, v T) string {
	if v == "" {
		return ""
	}
	return p.T(v.MessageKey())
}
