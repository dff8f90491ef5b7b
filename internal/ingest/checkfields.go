package ingest

import (
	"slices"
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// field reads one cell into the check of the row.
type field func(r *checkReader, column int, cell string)

// checkFields is how each column of the file is read: the fields of a check by their
// names, and further ways to give temperature and dead.
func checkFields() map[string]field {
	out := map[string]field{
		"temperature":      func(r *checkReader, i int, s string) { r.temp[0], r.tempAt = s, i },
		"temperature_c":    func(r *checkReader, i int, s string) { r.temp[1], r.tempAt = s, i },
		"temperature_f":    func(r *checkReader, i int, s string) { r.temp[2], r.tempAt = s, i },
		"temperature_unit": unitField,
		"dead":             func(r *checkReader, i int, s string) { r.dead, r.deadAt = s, i },
	}
	for _, f := range logbook.Asked(logbook.CheckFields()) {
		if out[f.Name] == nil {
			out[f.Name] = cellOf(f)
		}
	}
	return out
}

// CheckColumns are the columns of a file of checks, in the order in which they are
// told to people.
func CheckColumns() []string {
	out := logbook.Names(logbook.CheckFields())
	return slices.Insert(out, slices.Index(out, "temperature")+1, "temperature_unit")
}

// cellOf reads a field of a check from a cell.
func cellOf(f logbook.Field[logbook.Check]) field {
	switch f.Type {
	case logbook.OfDay:
		return dateField
	case logbook.OfClock:
		return clockField
	case logbook.OfChoice:
		return func(r *checkReader, i int, s string) {
			want := strings.NewReplacer(" ", "_", "-", "_").Replace(strings.ToLower(s))
			if !slices.Contains(f.Choices, want) {
				r.bad(i, "ingest.check.choice", s, map[string]any{"Choices": strings.Join(f.Choices, ", ")})
				return
			}
			f.SetText(r.c, want)
		}
	case logbook.OfWhole:
		return func(r *checkReader, i int, s string) {
			n, key := logbook.ParseCount(s)
			if key != "" {
				r.bad(i, "ingest.check.not_whole", s, nil)
				return
			}
			f.SetNumber(r.c, units.Some(float64(n)))
		}
	case logbook.OfNumber:
		return func(r *checkReader, i int, s string) {
			v, unit, err := ParseNumber(s, r.mark)
			switch {
			case err == ErrNumberUnclear:
				r.bad(i, "ingest.row.number_unclear", s, nil)
			case err != nil || unit != "":
				r.bad(i, "ingest.row.not_a_number", s, nil)
			default:
				f.SetNumber(r.c, units.Some(v))
			}
		}
	}
	return func(r *checkReader, _ int, s string) { f.SetText(r.c, s) }
}

func unitField(r *checkReader, i int, s string) {
	switch strings.ToLower(s) {
	case "cel", "c", "°c", "celsius":
		r.unit = UnitCel
	case "[degf]", "f", "°f", "fahrenheit":
		r.unit = UnitDegF
	default:
		r.bad(i, "ingest.check.choice", s, map[string]any{"Choices": "Cel, [degF]"})
	}
}

// dateField takes the year first only: 03/04/2026 is two dates.
func dateField(r *checkReader, i int, s string) {
	d, err := civil.Parse(strings.ReplaceAll(s, "/", "-"))
	if err != nil {
		r.bad(i, "ingest.check.date", s, nil)
		return
	}
	r.c.On = d
}

func clockField(r *checkReader, i int, s string) {
	t, err := time.Parse("15:04", s)
	if err != nil {
		r.bad(i, "ingest.check.time", s, nil)
		return
	}
	r.c.Time = t.Format("15:04")
}
