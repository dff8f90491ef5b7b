package api

import (
	"maps"
	"slices"
	"strings"

	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/form"
	"reddside/internal/web/req"
)

// The fields of an entry in JSON: reading, writing and describing them are loops
// over the table of its kind. A name with a point stands in an inner object.

// jsonNames are the JSON names of fields where they differ from those of the domain.
func jsonNames[T any](fields []logbook.Field[T]) map[string]string {
	out := map[string]string{}
	for i := range fields {
		if f := &fields[i]; f.JSONName() != f.Name {
			out[f.Name] = f.JSONName()
		}
	}
	return out
}

// jsonName is the JSON name of a field.
func jsonName[T any](fields []logbook.Field[T], name string) string {
	if f := logbook.FieldOf(fields, name); f != nil {
		return f.JSONName()
	}
	return name
}

// edits are the names in a body that a PATCH can change.
func edits[T any](fields []logbook.Field[T]) []string {
	var out []string
	for _, f := range logbook.Asked(fields) {
		if outer, _, _ := strings.Cut(f.JSONName(), "."); !slices.Contains(out, outer) {
			out = append(out, outer)
		}
	}
	return out
}

// readFields reads the fields of a row from a body.
func readFields[T any](o *form.Object, fields []logbook.Field[T], row *T) {
	inner := map[string]*form.Object{}
	for _, f := range logbook.Asked(fields) {
		from, name := o, f.JSONName()
		if outer, rest, ok := strings.Cut(name, "."); ok {
			if _, read := inner[outer]; !read {
				inner[outer] = o.Inner(outer)
			}
			if from, name = inner[outer], rest; from == nil {
				continue
			}
		}
		readField(from, name, &f, row)
	}
	for _, in := range inner {
		in.End()
	}
}

func readField[T any](o *form.Object, name string, f *logbook.Field[T], row *T) {
	switch {
	case f.IsText():
		f.SetText(row, o.Text(name))
	case f.Type == logbook.OfDay:
		*f.Day(row) = o.Date(name)
	case f.Type == logbook.OfNumbers:
		f.SetList(row, jsonNumbers(o, name))
	case f.Type == logbook.OfWhole:
		n := o.Whole(name)
		f.SetNumber(row, units.Optional[float64]{V: float64(n.V), OK: n.OK})
	case f.Type == logbook.OfNumber:
		f.SetNumber(row, o.Number(name))
	default:
		if in := o.Inner(name); in != nil {
			t, text, u := readMeasure(in)
			entered, unit := f.Typed(row)
			*entered, *unit = text, u
			f.SetNumber(row, units.Optional[float64]{V: float64(t.V), OK: t.OK})
		}
	}
}

// jsonNumbers reads a list of numbers.
func jsonNumbers(o *form.Object, name string) []float64 {
	var out []float64
	for i, v := range o.Items(name, logbook.MaxSampled) {
		item := form.NewListItem(v, name, i, o.Problems)
		x := item.Number(item.Item)
		if !x.OK && !item.Failed(item.Item) {
			item.Fail(item.Item, "api.missing", nil)
		}
		out = append(out, x.V)
	}
	return out
}

// readMeasure reads {value, unit}; what was written stays beside the Celsius.
func readMeasure(o *form.Object) (t units.Optional[units.Celsius], entered string, unit units.TemperatureUnit) {
	v := o.Number("value")
	unit = units.TemperatureUnit(o.Text("unit"))
	switch {
	case !v.OK && !o.Failed("value"):
		o.Fail("value", "api.missing", nil)
	case !unit.Valid() && !o.Failed("unit"):
		o.Fail("unit", "api.temperature_unit", nil)
	case v.OK && unit.Valid():
		t, entered = units.Some(unit.ToCelsius(v.V)), form.JSONText(o.Fields["value"])
	}
	o.End()
	return t, entered, unit
}

// object is a JSON object on its way out.
type object = map[string]any

// fieldsJSON are the fields of a row that say something.
func fieldsJSON[T any](fields []logbook.Field[T], row *T) object {
	out := object{}
	for i := range fields {
		f := &fields[i]
		if !f.Said(row) {
			continue
		}
		into, name := out, f.JSONName()
		if outer, rest, ok := strings.Cut(name, "."); ok {
			if out[outer] == nil {
				out[outer] = object{}
			}
			into, name = out[outer].(object), rest
		}
		into[name] = fieldJSON(fields, f, row)
		if f.Type == logbook.OfTemperature { // in the unit of the entry, and in Celsius
			out[name+"_c"] = f.Quantity(row)
		}
	}
	delete(out, "temperature_unit") // stands beside the value
	return out
}

func fieldJSON[T any](fields []logbook.Field[T], f *logbook.Field[T], row *T) any {
	switch {
	case f.Name == "confirmed":
		out := strings.Fields(f.Text(row))
		for i, name := range out {
			out[i] = jsonName(fields, name)
		}
		return out
	case f.IsText():
		return f.Text(row)
	case f.Type == logbook.OfDay:
		return *f.Day(row)
	case f.Type == logbook.OfNumbers:
		return f.List(row)
	case f.Type == logbook.OfTemperature:
		_, typed := f.Typed(row)
		unit := req.UnitOr(*typed, units.Cel)
		// Rounding takes away the noise of the conversion: 45.5 F is 45.5 F again.
		return object{"value": units.Round(unit.FromCelsius(units.Celsius(f.Number(row).V)), 6), "unit": unit}
	}
	return f.Quantity(row)
}

// The schemas of the description: what a create and a PATCH take of a kind, and
// what is answered of it.

// takes describes the fields in a body. What need not be sent may be null.
func takes[T any](fields []logbook.Field[T], patch bool) (properties object, required []string) {
	properties = object{}
	for _, f := range logbook.Asked(fields) {
		s := schemaOf(&f)
		outer, rest, nested := strings.Cut(f.JSONName(), ".")
		if must := f.Must && !patch; must && !nested {
			required = append(required, outer)
		} else {
			s = nullable(s)
		}
		put(properties, outer, rest, nested, s)
	}
	for _, s := range properties {
		if o := s.(object); o["type"] == "object" {
			o["type"] = []string{"object", "null"}
		}
	}
	return properties, required
}

// gives describes the fields of an answer.
func gives[T any](fields []logbook.Field[T], always []string) (properties object, required []string) {
	properties, required = maps.Clone(entrySchema), slices.Concat(entryAlways, always)
	for i := range fields {
		f := &fields[i]
		if f.Name == "temperature_unit" {
			continue
		}
		outer, rest, nested := strings.Cut(f.JSONName(), ".")
		put(properties, outer, rest, nested, schemaOf(f))
		if f.Type == logbook.OfTemperature {
			properties[outer+"_c"] = object{"type": "number"}
		}
	}
	return properties, required
}

func put(properties object, outer, rest string, nested bool, s object) {
	if !nested {
		properties[outer] = s
		return
	}
	if properties[outer] == nil {
		properties[outer] = object{"type": "object", "properties": object{}, "additionalProperties": false}
	}
	properties[outer].(object)["properties"].(object)[rest] = nullable(s)
}

func schemaOf[T any](f *logbook.Field[T]) object {
	switch {
	case f.Name == "confirmed":
		return object{"type": "array", "items": object{"type": "string"}}
	case f.Type == logbook.OfChoice:
		return object{"type": "string", "enum": f.Choices}
	case f.IsText():
		return object{"type": "string"}
	case f.Type == logbook.OfDay:
		return object{"type": "string", "format": "date"}
	case f.Type == logbook.OfNumbers:
		return object{"type": "array", "items": object{"type": "number"}}
	case f.Type == logbook.OfWhole:
		return object{"type": "integer"}
	case f.Type == logbook.OfNumber:
		return object{"type": "number"}
	}
	return RefTo("Measure")
}

// nullable lets a value be null as well.
func nullable(s object) object {
	out := maps.Clone(s)
	switch t := s["type"].(type) {
	case string:
		if s["enum"] != nil {
			return object{"anyOf": []any{s, object{"type": "null"}}}
		}
		out["type"] = []string{t, "null"}
	}
	return out
}

// entrySchema is what every entry of a season answers beside its fields.
var entrySchema = object{
	"id": object{"type": "string"}, "season_id": object{"type": "string"}, "by_label": object{"type": "string"},
	"reason": object{"type": "string"}, "revision": object{"type": "integer"}, "corrected": object{"type": "boolean"},
	"received_at": object{"type": "string", "format": "date-time"}, "changed_at": object{"type": "string",
		"format": "date-time"},
	"by":     object{"type": "string", "enum": []string{"coordinator", "keeper", "class"}},
	"status": object{"type": "string", "enum": []string{"stored", "voided"}},
}

var entryAlways = []string{"by", "by_label", "changed_at", "corrected", "id", "received_at", "revision", "season_id",
	"status"}

// schemas adds the three of a kind; extra are further properties of its bodies, and
// must those of them that a create has to give.
func schemas[T any](out object, name string, fields []logbook.Field[T], always []string, confirm bool, extra object,
	must ...string) {
	shape := func(properties object, required []string) object {
		slices.Sort(required)
		return object{"type": "object", "properties": properties, "required": required,
			"additionalProperties": false}
	}
	out[name] = shape(gives(fields, always))
	input, required := takes(fields, false)
	maps.Copy(input, extra)
	patch, _ := takes(fields, true)
	patch["reason"] = object{"type": "string"}
	if confirm {
		words := object{"type": "array", "items": object{"type": "string"}}
		input["confirm"], patch["confirm"] = nullable(words), words
	}
	out[name+"Input"], out[name+"Patch"] = shape(input, append(required, must...)), shape(patch, []string{"reason"})
}

func entrySchemas(out object) {
	schemas(out, "Check", logbook.CheckFields(), []string{"on", "slot"}, true, nil)
	schemas(out, "Event", logbook.EventFields(), []string{"kind", "on"}, false, nil)
	schemas(out, "Sample", logbook.SampleFields(), []string{"on", "count", "total_g"}, true, nil)
	schemas(out, "Delivery", logbook.DeliveryFields(), []string{"on", "count", "method"}, false, nil)
	schemas(out, "Release", logbook.ReleaseFields(), []string{"event_id"}, false,
		object{"event_id": object{"type": "string"}}, "event_id")
	sharedSchemas(out)
}
