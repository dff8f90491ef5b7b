package reports

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/report"
	"reddside/internal/units"
	"reddside/internal/web/req"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// reportTable is a table of a report. Cells are texts, counts, quantities or
// dates; nil and the zero date are empty. The head of a column is the text
// "seasonreport.col.<column>".
type reportTable struct {
	name    string
	columns []string
	rows    [][]any
}

// reportFact is one named value of a report.
type reportFact struct {
	item  string // text "seasonreport.item.<item>"
	value any
	unit  string // of the CSV file, by UCUM
}

// reportPart is a section of the report of a season.
type reportPart struct {
	id    string // text "seasonreport.part.<id>"
	facts []reportFact
	table *reportTable
	notes []string
	day   civil.Date  // in the CSV file, of the facts
	link  ui.PageLink // to correct it
}

func emptyCell(v any) bool {
	d, isDate := v.(civil.Date)
	return v == nil || v == "" || isDate && d.IsZero()
}

func numberCell(v any) bool {
	switch v.(type) {
	case int, float64, units.Celsius, units.Grams, units.Litres, units.MgPerL, units.Millimetres, units.ThermalUnits:
		return true
	}
	return false
}

// reportText writes a cell for reading.
func reportText(p *i18n.Printer, v any) string {
	if emptyCell(v) {
		return "–"
	}
	return p.Value(v)
}

func (t *reportTable) view(p *i18n.Printer) ui.DataTable {
	d := ui.DataTable{Caption: p.T("seasonreport.part." + t.name)}
	for i, c := range t.columns {
		number := false
		for _, row := range t.rows {
			number = number || numberCell(row[i])
		}
		d.Columns = append(d.Columns, ui.DataColumn{Label: p.T("seasonreport.col." + c), Number: number})
	}
	for _, row := range t.rows {
		cells := make([]string, len(row))
		for i, v := range row {
			cells[i] = reportText(p, v)
		}
		d.Rows = append(d.Rows, cells)
	}
	return d
}

// only is the table with some of its columns.
func (t *reportTable) only(name string, columns []string) *reportTable {
	out := &reportTable{name: name, columns: columns}
	for _, row := range t.rows {
		var cells []any
		for _, c := range columns {
			cells = append(cells, row[slices.Index(t.columns, c)])
		}
		out.rows = append(out.rows, cells)
	}
	return out
}

// records are the rows of a CSV file under their plain names.
func (t *reportTable) records() [][]any {
	head := make([]any, len(t.columns))
	for i, c := range t.columns {
		head[i] = columnName(c)
	}
	return append([][]any{head}, t.rows...)
}

func (x reportPart) section(p *i18n.Printer) ReportSection {
	s := ReportSection{ID: x.id, Link: x.link, Title: p.T("seasonreport.part." + x.id), Notes: x.notes}
	for _, f := range x.facts {
		if !emptyCell(f.value) {
			text := p.Value(f.value)
			if v, ok := f.value.(float64); ok && f.unit == "deg" { // a place is not rounded
				text = words.Typed(p, v)
			}
			s.Facts = append(s.Facts, ui.Fact{Label: p.T("seasonreport.item." + f.item), Value: text})
		}
	}
	if x.table != nil && len(x.table.rows) > 0 {
		s.Table = x.table.view(p)
	}
	return s
}

// names of the CSV file: plain in the file for programs, in words in that for a
// spreadsheet.
type (
	columnName string
	partName   string
	itemName   string
)

// partRows lays the report of a season out as one long table: each value has its
// part, day, name and unit.
func partRows(parts []reportPart) [][]any {
	rows := [][]any{{columnName("part"), columnName("on"), columnName("item"), columnName("value"), columnName("unit")}}
	for _, x := range parts {
		for _, f := range x.facts {
			if !emptyCell(f.value) {
				rows = append(rows, []any{partName(x.id), x.day, itemName(f.item), f.value, f.unit})
			}
		}
		if x.table == nil {
			continue
		}
		for _, row := range x.table.rows {
			for i, v := range row[1:] {
				if !emptyCell(v) {
					rows = append(rows, []any{partName(x.id), row[0], columnName(x.table.columns[i+1]), v,
						cellUnit(v, x.table.columns[i+1])})
				}
			}
		}
	}
	return rows
}

// cellUnit is the UCUM code of a quantity.
func cellUnit(v any, column string) string {
	switch v.(type) {
	case units.Celsius:
		return "Cel"
	case units.Grams:
		return "g"
	case units.Litres:
		return "L"
	case units.MgPerL:
		return "mg/L"
	case units.ThermalUnits:
		return "Cel.d"
	case float64:
		return map[string]string{"hours": "h", "degree_hours": "K.h", "ph": "[pH]"}[column]
	}
	return ""
}

// CSVDialect is how a CSV file is written.
type CSVDialect struct {
	Spreadsheet bool // in words, with a mark of UTF-8 in front
	Comma       bool // decimal comma, so semicolons between cells
}

// reportCSV answers "?format=csv" with a file for programs and
// "?format=spreadsheet" with one that a spreadsheet of the reader's language
// opens by itself. done is false when a page is wanted.
func (s *Service) reportCSV(w http.ResponseWriter, r *http.Request, p *i18n.Printer, name, label string,
	rows [][]any) (done bool, err error) {
	var d CSVDialect
	switch r.URL.Query().Get("format") {
	case "csv":
	case "spreadsheet":
		d = CSVDialect{Spreadsheet: true, Comma: p.Lang() == "fr"}
	default:
		return false, nil
	}
	return true, s.csvFile(w, d, p, name, label, rows)
}

// csvFile answers with a file.
func (s *Service) csvFile(w http.ResponseWriter, d CSVDialect, p *i18n.Printer, name, label string,
	rows [][]any) error {
	body, err := d.write(p, rows)
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/csv; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Disposition", `attachment; filename="`+req.FileName(name, label)+`.csv"`)
	_, _ = w.Write(body)
	return nil
}

func (d CSVDialect) write(p *i18n.Printer, rows [][]any) ([]byte, error) {
	var b bytes.Buffer
	if d.Spreadsheet {
		b.WriteString("\ufeff")
	}
	out := csv.NewWriter(&b)
	out.UseCRLF = true
	if d.Comma {
		out.Comma = ';'
	}
	for _, row := range rows {
		cells := make([]string, len(row))
		for i, v := range row {
			cells[i] = d.Cell(p, v)
		}
		if err := out.Write(cells); err != nil {
			return nil, fmt.Errorf("write CSV: %w", err)
		}
	}
	out.Flush()
	return b.Bytes(), out.Error()
}

func (d CSVDialect) Cell(p *i18n.Printer, v any) string {
	num := func(x float64) string {
		s := strconv.FormatFloat(units.Round(x, 4), 'f', -1, 64)
		if d.Comma {
			s = strings.Replace(s, ".", ",", 1)
		}
		return s
	}
	words := func(plain, key string) string {
		if d.Spreadsheet {
			return p.T(key + plain)
		}
		return plain
	}
	switch x := v.(type) {
	case nil:
		return ""
	case int:
		return strconv.Itoa(x)
	case float64:
		return num(x)
	case units.Celsius:
		return num(float64(x))
	case units.Grams:
		return num(float64(x))
	case units.Litres:
		return num(float64(x))
	case units.MgPerL:
		return num(float64(x))
	case units.Millimetres:
		return num(float64(x))
	case units.ThermalUnits:
		return num(float64(x))
	case civil.Date:
		return x.String()
	case columnName:
		return words(string(x), "seasonreport.col.")
	case partName:
		return words(string(x), "seasonreport.part.")
	case itemName:
		return words(string(x), "seasonreport.item.")
	}
	return report.Guard(p.Value(v))
}
