package logbook

import (
	"reflect"
	"slices"
	"testing"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// TestFieldsAreWholeAndTheirOwn: every member of a kind is set and read by one field
// of its table, and no two fields share a name anywhere.
func TestFieldsAreWholeAndTheirOwn(t *testing.T) {
	wholeTable(t, CheckFields())
	wholeTable(t, EventFields())
	wholeTable(t, SampleFields())
	wholeTable(t, DeliveryFields())
	wholeTable(t, ReleaseFields())
}

func wholeTable[T any](t *testing.T, fields []Field[T]) {
	t.Helper()
	var row T
	left := members(row)
	names := map[string][]string{}
	for i := range fields {
		f := &fields[i]
		for kind, name := range map[string]string{"name": f.Name, "JSON": f.JSONName(), "CSV": f.CSVName(),
			"column": f.ColumnName(), "question": f.Question()} {
			if slices.Contains(names[kind], name) {
				t.Errorf("%T: two fields have the %s %s", row, kind, name)
			}
			names[kind] = append(names[kind], name)
		}
		var x, zero T
		if f.Said(&x) && !f.Must && f.Name != "count" && f.Name != "total_g" {
			t.Errorf("%T: %s is said of an empty row", row, f.Name)
		}
		set(f, &x)
		if !f.Said(&x) || f.Plain(&x) == f.Plain(&zero) {
			t.Errorf("%T: %s is not read as it was set", row, f.Name)
		}
		if f.About == "" {
			t.Errorf("%T: %s is not described", row, f.Name)
		}
		touched := 0
		now, before := members(x), members(zero)
		for name, v := range now {
			if !reflect.DeepEqual(v, before[name]) {
				touched++
				delete(left, name)
			}
		}
		if touched != 1 {
			t.Errorf("%T: %s sets %d members", row, f.Name, touched)
		}
		// Setting nothing takes the value away again.
		unset(f, &x)
		if f.Plain(&x) != f.Plain(&zero) {
			t.Errorf("%T: %s stays %q", row, f.Name, f.Plain(&x))
		}
	}
	for name := range left {
		t.Errorf("%T: no field sets %s", row, name)
	}
}

// members are the values of a row beside its identifiers, those of a treatment by
// themselves.
func members(row any) map[string]any {
	out := map[string]any{}
	v := reflect.ValueOf(row)
	for i := range v.NumField() {
		switch name := v.Type().Field(i).Name; name {
		case "ID", "SeasonID", "Entry":
		case "Treated":
			for inner, x := range members(v.Field(i).Interface()) {
				out[name+"."+inner] = x
			}
		default:
			out[name] = v.Field(i).Interface()
		}
	}
	return out
}

func set[T any](f *Field[T], x *T) {
	switch {
	case f.Type == OfChoice:
		f.SetText(x, f.Choices[len(f.Choices)-1])
	case f.IsText():
		f.SetText(x, "10:10")
	case f.Type == OfDay:
		*f.Day(x) = civil.MustParse("2026-02-03")
	case f.Type == OfNumbers:
		f.SetList(x, []float64{1.5, 2})
	default:
		f.SetNumber(x, units.Some(7.0))
	}
}

func unset[T any](f *Field[T], x *T) {
	switch {
	case f.IsText():
		f.SetText(x, "")
	case f.Type == OfDay:
		*f.Day(x) = civil.Date{}
	case f.Type == OfNumbers:
		f.SetList(x, nil)
	default:
		f.SetNumber(x, units.None[float64]())
	}
}
