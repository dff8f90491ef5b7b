package ingest

import (
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// field reads one cell into the check of the row.
type field func(r *checkReader, column int, cell string)

// checkFields is how each column of the file is read.
func checkFields() map[string]field {
	equipment := []logbook.Equipment{logbook.Running, logbook.Stopped, logbook.NotChecked, logbook.NotFitted}
	return map[string]field{
		"on":               dateField,
		"slot":             choice(logbook.Slots(), func(c *logbook.Check) *logbook.Slot { return &c.Slot }),
		"time":             clockField,
		"temperature":      func(r *checkReader, i int, s string) { r.temp[0], r.tempAt = s, i },
		"temperature_c":    func(r *checkReader, i int, s string) { r.temp[1], r.tempAt = s, i },
		"temperature_f":    func(r *checkReader, i int, s string) { r.temp[2], r.tempAt = s, i },
		"temperature_unit": unitField,
		"dead":             func(r *checkReader, i int, s string) { r.dead, r.deadAt = s, i },
		"dead_eggs":        countField(func(c *logbook.Check) *units.Optional[int] { return &c.DeadEggs }),
		"dead_alevins":     countField(func(c *logbook.Check) *units.Optional[int] { return &c.DeadAlevins }),
		"dead_fry":         countField(func(c *logbook.Check) *units.Optional[int] { return &c.DeadFry }),
		"dead_cause":       choice(logbook.DeadCauses(), func(c *logbook.Check) *logbook.DeadCause { return &c.DeadCause }),
		"stage":            choice(logbook.Stages(), func(c *logbook.Check) *logbook.Stage { return &c.Stage }),
		"chiller":          choice(equipment, func(c *logbook.Check) *logbook.Equipment { return &c.Chiller }),
		"filter":           choice(equipment, func(c *logbook.Check) *logbook.Equipment { return &c.Filter }),
		"air_pump":         choice(equipment, func(c *logbook.Check) *logbook.Equipment { return &c.AirPump }),
		"hatched": choice([]logbook.Hatched{logbook.HatchedNone, logbook.HatchedFew, logbook.HatchedHalf, logbook.HatchedMost, logbook.HatchedAll},
			func(c *logbook.Check) *logbook.Hatched { return &c.Hatched }),
		"water": choice([]logbook.Water{logbook.WaterClear, logbook.WaterCloudy, logbook.WaterFoam, logbook.WaterFilm},
			func(c *logbook.Check) *logbook.Water { return &c.Water }),
		"fungus":          choice([]logbook.Sighting{logbook.Seen, logbook.NotSeen}, func(c *logbook.Check) *logbook.Sighting { return &c.Fungus }),
		"ph":              numberField(func(c *logbook.Check) *units.Optional[float64] { return &c.PH }),
		"tan_mg_l":        numberField(func(c *logbook.Check) *units.Optional[units.MgPerL] { return &c.TAN }),
		"nitrite_mg_l":    numberField(func(c *logbook.Check) *units.Optional[units.MgPerL] { return &c.Nitrite }),
		"chlorine_mg_l":   numberField(func(c *logbook.Check) *units.Optional[units.MgPerL] { return &c.Chlorine }),
		"alkalinity_mg_l": numberField(func(c *logbook.Check) *units.Optional[units.MgPerL] { return &c.Alkalinity }),
		"nitrate_mg_l":    numberField(func(c *logbook.Check) *units.Optional[units.MgPerL] { return &c.Nitrate }),
		"oxygen_mg_l":     numberField(func(c *logbook.Check) *units.Optional[units.MgPerL] { return &c.Oxygen }),
		"fed_g":           numberField(func(c *logbook.Check) *units.Optional[units.Grams] { return &c.Fed }),
		"note":            func(r *checkReader, _ int, s string) { r.c.Note = s },
		"observer":        func(r *checkReader, _ int, s string) { r.c.Observer = s },
	}
}

func choice[T ~string](all []T, to func(*logbook.Check) *T) field {
	return func(r *checkReader, i int, s string) {
		want := T(strings.NewReplacer(" ", "_", "-", "_").Replace(strings.ToLower(s)))
		names := make([]string, len(all))
		for k, v := range all {
			if v == want {
				*to(r.c) = v
				return
			}
			names[k] = string(v)
		}
		r.bad(i, "ingest.check.choice", s, map[string]any{"Choices": strings.Join(names, ", ")})
	}
}

func countField(to func(*logbook.Check) *units.Optional[int]) field {
	return func(r *checkReader, i int, s string) {
		n, key := logbook.ParseCount(s)
		if key != "" {
			r.bad(i, "ingest.check.not_whole", s, nil)
			return
		}
		*to(r.c) = units.Some(n)
	}
}

func numberField[T ~float64](to func(*logbook.Check) *units.Optional[T]) field {
	return func(r *checkReader, i int, s string) {
		v, unit, err := ParseNumber(s, r.mark)
		switch {
		case err == ErrNumberUnclear:
			r.bad(i, "ingest.row.number_unclear", s, nil)
		case err != nil || unit != "":
			r.bad(i, "ingest.row.not_a_number", s, nil)
		default:
			*to(r.c) = units.Some(T(v))
		}
	}
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
