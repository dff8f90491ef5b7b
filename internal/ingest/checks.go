package ingest

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// CheckRow is one check of a logbook CSV file.
type CheckRow struct {
	Line  int
	Check logbook.Check // without ids and entry data
}

// maxProblems is how many problems of a file of checks are of use to anybody.
const maxProblems = 1000

// ReadChecks reads checks from a logbook CSV file (columns: see the package
// comment). It is all or nothing: when there is any problem the rows are nil,
// and the problems, up to about maxProblems, are listed with their line, column
// and what to write instead.
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
	c := checkReader{seen: map[string]int{}, fields: checkFields()}
	c.header(header)
	if len(c.problems) > 0 {
		return nil, c.problems, nil
	}
	var rows [][]string
	var at []int
	for {
		row, err := r.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			c.problems = append(c.problems, csvProblem(err))
			break
		}
		line, _ := r.FieldPos(0)
		rows, at = append(rows, row), append(at, line)
	}
	c.settleMark(rows)
	for i, row := range rows {
		if len(c.problems) >= maxProblems {
			break
		}
		c.row(at[i], row)
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
	fields   map[string]field
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
		_, known := r.fields[name]
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

// settleMark finds the decimal mark from the columns of numbers.
func (r *checkReader) settleMark(rows [][]string) {
	var m markCount
	for _, row := range rows {
		for i, name := range r.columns {
			if f := logbook.FieldOf(logbook.CheckFields(), name); i < len(row) &&
				(strings.HasPrefix(name, "temperature") || f != nil && f.Type == logbook.OfNumber) {
				v, _ := cutUnit(cleanNumber(row[i]))
				m.add(v)
			}
		}
	}
	r.mark, _ = m.mark()
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
		r.bad(len(r.columns)+1, "ingest.row.extra_cells", strings.Join(cells, " | "),
			map[string]any{"Cells": n, "Header": len(r.columns)})
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
			r.fields[name](r, i+1, cells[i])
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
		r.bad(onAt, "ingest.check.twice", check.On.String(), map[string]any{"Date": check.On, "Slot": check.Slot,
			"OtherLine": r.seen[key]})
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
	case unit != "" && written != "" && unit != written, written == UnitKelvin:
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
	into := ""
	switch r.c.Stage {
	case logbook.GreenEgg, logbook.EyedEgg:
		into = "dead_eggs"
	case logbook.Alevin:
		into = "dead_alevins"
	case logbook.Fry, logbook.Parr, logbook.Smolt:
		into = "dead_fry"
	default:
		r.bad(r.deadAt, "ingest.check.dead_needs_stage", r.dead, nil)
		return
	}
	if logbook.FieldOf(logbook.CheckFields(), into).Said(r.c) {
		r.bad(r.deadAt, "ingest.check.dead_twice", r.dead, nil)
		return
	}
	r.fields[into](r, r.deadAt, r.dead)
}
