package ingest

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// CheckRow is one check of a logbook CSV file.
type CheckRow struct {
	Line  int
	Check logbook.Check // without ids and entry data
}

// ReadChecks reads checks from a logbook CSV file (columns: see the package
// comment). It is all or nothing: when there is any problem the rows are nil,
// and every problem is listed with its line, column and what to write instead.
// The error is a *FileError when the file cannot be read at all.
func ReadChecks(data []byte) ([]CheckRow, []Problem, error) {
	text, _, err := decode(data)
	if err != nil {
		return nil, nil, err
	}
	r := csv.NewReader(strings.NewReader(text))
	r.Comma = checkSeparator(text)
	r.FieldsPerRecord = -1
	header, err := r.Read()
	if err != nil {
		return nil, []Problem{csvProblem(err)}, nil
	}
	c := checkReader{seen: map[string]int{}, mark: MarkUnknown}
	c.header(header)
	if len(c.problems) > 0 {
		return nil, c.problems, nil
	}
	for {
		row, err := r.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			c.problems = append(c.problems, csvProblem(err))
			break
		}
		if len(c.rows) >= MaxRows {
			return nil, nil, refuseFile("ingest.file.too_many_rows", map[string]any{"Rows": len(c.rows) + 1, "Most": MaxRows})
		}
		line, _ := r.FieldPos(0)
		c.row(line, row)
	}
	if len(c.problems) == 0 && len(c.rows) == 0 {
		return nil, nil, refuseFile("ingest.file.no_checks", nil)
	}
	if len(c.problems) > 0 {
		return nil, c.problems, nil
	}
	return c.rows, nil, nil
}

// checkSeparator takes the separator that the header line holds most of.
func checkSeparator(text string) rune {
	first, _, _ := strings.Cut(strings.TrimLeft(text, "\r\n"), "\n")
	best, n := ',', strings.Count(first, ",")
	for _, sep := range []rune{';', '\t'} {
		if k := strings.Count(first, string(sep)); k > n {
			best, n = sep, k
		}
	}
	return best
}

func csvProblem(err error) Problem {
	var pe *csv.ParseError
	if errors.As(err, &pe) {
		return Problem{Line: pe.Line, Column: 1, Key: "ingest.check.quotes"}
	}
	return Problem{Line: 1, Key: "ingest.check.quotes"}
}

type checkReader struct {
	columns  []string
	rows     []CheckRow
	problems []Problem
	seen     map[string]int // date and slot -> line
	mark     DecimalMark
	line     int
	c        *logbook.Check
	unit     string
	temp     [3]string // temperature, temperature_c, temperature_f
	tempAt   int
	dead     string
	deadAt   int
}

func (r *checkReader) bad(column int, key, raw string, args map[string]any) {
	if args == nil {
		args = map[string]any{}
	}
	args["Text"] = cut(raw)
	if column >= 1 && column <= len(r.columns) {
		args["Name"] = r.columns[column-1]
	}
	r.problems = append(r.problems, Problem{Line: r.line, Column: column, Key: key, Args: args, Raw: cut(raw)})
}

func (r *checkReader) header(cells []string) {
	r.line = 1
	at := map[string]int{}
	for i, cell := range cells {
		name := strings.NewReplacer(" ", "_", "-", "_").Replace(strings.ToLower(strings.TrimSpace(cell)))
		if name == "date" {
			name = "on"
		}
		r.columns = append(r.columns, name)
		_, known := checkFields[name]
		switch {
		case !known && name == "" && i == len(cells)-1:
		case !known:
			r.bad(i+1, "ingest.check.unknown_column", cell, nil)
		case at[name] > 0:
			r.bad(i+1, "ingest.check.column_twice", cell, map[string]any{"Other": at[name]})
		}
		at[name] = i + 1
	}
	if at["on"] == 0 && len(r.problems) == 0 {
		r.bad(0, "ingest.check.no_date_column", strings.Join(cells, " "), nil)
	}
}

func (r *checkReader) row(line int, cells []string) {
	r.line = line
	for i := range cells {
		cells[i] = strings.TrimSpace(cells[i])
	}
	if blankRow(cells) {
		return
	}
	if n := filledLength(cells); n > len(r.columns) {
		r.bad(len(r.columns)+1, "ingest.row.extra_cells", strings.Join(cells, " | "), map[string]any{"Cells": n, "Header": len(r.columns)})
		return
	}
	check := logbook.Check{Slot: logbook.Morning}
	r.c, r.unit, r.temp, r.tempAt, r.dead, r.deadAt = &check, "", [3]string{}, 0, "", 0
	before := len(r.problems)
	onAt := 0
	for i, name := range r.columns {
		if name == "on" {
			onAt = i + 1
		}
		if i < len(cells) && cells[i] != "" && name != "" {
			checkFields[name](r, i+1, cells[i])
		}
	}
	r.temperature()
	r.deadTotal()
	if len(r.problems) > before {
		return
	}
	switch key := fmt.Sprint(check.On, check.Slot); {
	case check.On.IsZero():
		r.bad(onAt, "ingest.check.no_date", "", nil)
	case r.seen[key] > 0:
		r.bad(onAt, "ingest.check.twice", check.On.String(), map[string]any{"Date": check.On, "Slot": check.Slot, "OtherLine": r.seen[key]})
	case check.Empty():
		r.bad(0, "ingest.check.empty", "", nil)
	default:
		r.seen[key] = line
		r.rows = append(r.rows, CheckRow{line, check})
	}
}

// temperature joins the number, its unit and the unit of its column.
func (r *checkReader) temperature() {
	var text, unit string
	for i, t := range r.temp {
		if t == "" {
			continue
		}
		if text != "" {
			r.bad(r.tempAt, "ingest.check.two_temperatures", t, nil)
			return
		}
		text, unit = t, []string{r.unit, UnitCel, UnitDegF}[i]
	}
	if text == "" {
		return
	}
	v, written, err := ParseNumber(text, r.mark)
	switch {
	case err == ErrNumberUnclear:
		r.bad(r.tempAt, "ingest.row.number_unclear", text, nil)
		return
	case err != nil:
		r.bad(r.tempAt, "ingest.row.not_a_number", text, nil)
		return
	case unit != "" && written != "" && unit != written:
		r.bad(r.tempAt, "ingest.row.other_unit", text, nil)
		return
	case unit == "" && written != "":
		unit = written
	case unit == "":
		unit = UnitCel
	}
	u := units.TemperatureUnit(unit)
	r.c.Temperature = units.Some(u.ToCelsius(v))
	r.c.TemperatureEntered, r.c.TemperatureUnit = text, u
}

// deadTotal puts a count without a stage to the stage of the row.
func (r *checkReader) deadTotal() {
	if r.dead == "" {
		return
	}
	var into *units.Optional[int]
	switch r.c.Stage {
	case logbook.GreenEgg, logbook.EyedEgg:
		into = &r.c.DeadEggs
	case logbook.Alevin:
		into = &r.c.DeadAlevins
	case logbook.Fry, logbook.Parr, logbook.Smolt:
		into = &r.c.DeadFry
	default:
		r.bad(r.deadAt, "ingest.check.dead_needs_stage", r.dead, nil)
		return
	}
	if into.OK {
		r.bad(r.deadAt, "ingest.check.dead_twice", r.dead, nil)
		return
	}
	countField(func(c *logbook.Check) *units.Optional[int] { return into })(r, r.deadAt, r.dead)
}

// field reads one cell into the check of the row.
type field func(r *checkReader, column int, cell string)

var checkFields map[string]field

func init() {
	checkFields = map[string]field{
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
		"stage":            choice(logbook.Stages(), func(c *logbook.Check) *logbook.Stage { return &c.Stage }),
		"chiller":          choice(equipment, func(c *logbook.Check) *logbook.Equipment { return &c.Chiller }),
		"filter":           choice(equipment, func(c *logbook.Check) *logbook.Equipment { return &c.Filter }),
		"air_pump":         choice(equipment, func(c *logbook.Check) *logbook.Equipment { return &c.AirPump }),
		"hatched": choice([]logbook.Hatched{logbook.HatchedNone, logbook.HatchedFew, logbook.HatchedHalf, logbook.HatchedMost, logbook.HatchedAll},
			func(c *logbook.Check) *logbook.Hatched { return &c.Hatched }),
		"water": choice([]logbook.Water{logbook.WaterClear, logbook.WaterCloudy, logbook.WaterFoam, logbook.WaterFilm},
			func(c *logbook.Check) *logbook.Water { return &c.Water }),
		"fungus":       choice([]logbook.Sighting{logbook.Seen, logbook.NotSeen}, func(c *logbook.Check) *logbook.Sighting { return &c.Fungus }),
		"ph":           numberField(func(c *logbook.Check) *units.Optional[float64] { return &c.PH }),
		"tan_mg_l":     numberField(func(c *logbook.Check) *units.Optional[units.MgPerL] { return &c.TAN }),
		"nitrite_mg_l": numberField(func(c *logbook.Check) *units.Optional[units.MgPerL] { return &c.Nitrite }),
		"nitrate_mg_l": numberField(func(c *logbook.Check) *units.Optional[units.MgPerL] { return &c.Nitrate }),
		"oxygen_mg_l":  numberField(func(c *logbook.Check) *units.Optional[units.MgPerL] { return &c.Oxygen }),
		"fed_g":        numberField(func(c *logbook.Check) *units.Optional[units.Grams] { return &c.Fed }),
		"note":         func(r *checkReader, _ int, s string) { r.c.Note = s },
		"observer":     func(r *checkReader, _ int, s string) { r.c.Observer = s },
	}
}

var equipment = []logbook.Equipment{logbook.Running, logbook.Stopped, logbook.NotChecked, logbook.NotFitted}

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
