package ingest

import (
	"regexp"
	"strings"
)

// table is a file cut into cells, with the place of the header and the first
// row of data. Every physical line is one row, so line numbers stay true and a
// stray quote spoils one row, not the rest of the file.
type table struct {
	encoding string
	sep      byte
	rows     []string // every line
	header   []string // names of the columns; empty when the file has none
	headerAt int      // index of the header line, -1 when there is none
	dataAt   int      // index of the first line of data
	columns  int
}

var separators = []byte{',', ';', '\t', '|'}

// cells cuts one line. A quote inside a quoted cell is doubled.
func cells(line string, sep byte) []string {
	if !strings.Contains(line, `"`) {
		out := strings.Split(line, string(sep))
		for i := range out {
			out[i] = strings.TrimSpace(out[i])
		}
		return out
	}
	var out []string
	var b strings.Builder
	quoted := false
	for i := 0; i < len(line); i++ {
		c := line[i]
		switch {
		case c == '"' && quoted && i+1 < len(line) && line[i+1] == '"':
			b.WriteByte('"')
			i++
		case c == '"' && (quoted || strings.TrimSpace(b.String()) == ""):
			quoted = !quoted
		case c == sep && !quoted:
			out = append(out, strings.TrimSpace(b.String()))
			b.Reset()
		default:
			b.WriteByte(c)
		}
	}
	return append(out, strings.TrimSpace(b.String()))
}

func (t *table) row(i int) []string { return cells(t.rows[i], t.sep) }

func blankRow(row []string) bool {
	for _, c := range row {
		if c != "" {
			return false
		}
	}
	return true
}

// stampKind says what a cell of a time column holds.
type stampKind int

const (
	noStamp stampKind = iota
	dateAndTime
	dateOnly
	timeOnly
	unixTime
	serialTime // day number of a spreadsheet with a fraction
	serialDay  // and without
)

// kindOf is quick for the many cells that are plain numbers.
func kindOf(cell string) stampKind {
	if len(cell) < 4 || len(cell) > 48 {
		return noStamp
	}
	if (len(cell) == 10 || len(cell) == 13) && allDigits(cell) {
		if _, ok := scanUnix(cell); ok {
			return unixTime
		}
	}
	if st, ok := scanSerial(cell); ok {
		if st.hasTime {
			return serialTime
		}
		return serialDay
	}
	if !strings.ContainsAny(cell, ":/-.hH ") && len(cell) != 8 && (len(cell) < 13 || cell[8] != 'T') {
		return noStamp
	}
	st, ok := scanStamp(cell)
	switch {
	case !ok:
		return noStamp
	case !st.hasDate:
		return timeOnly
	}
	for _, o := range allOrders {
		if _, ok := st.date(o); ok {
			if st.hasTime {
				return dateAndTime
			}
			return dateOnly
		}
	}
	return noStamp
}

// newTable finds the separator, the header and the data of decoded text.
func newTable(text, encoding string) (*table, error) {
	t := &table{encoding: encoding, rows: lines(text), headerAt: -1}
	column, ok := t.part()
	if !ok && t.unroll() {
		column, ok = t.part()
	}
	if !ok {
		return nil, refuseFile("ingest.file.no_time_column", nil)
	}
	for i := range t.rows {
		if row := t.row(i); column < len(row) && isDate(kindOf(row[column])) && len(row) > 1 {
			t.dataAt = i
			break
		}
	}
	t.findHeader()
	return t, t.measure()
}

func isDate(k stampKind) bool { return k != noStamp && k != timeOnly }

// part finds the separator and the column in which most dates stand.
func (t *table) part() (column int, ok bool) {
	best := 0
	for _, sep := range separators {
		if score, c := t.try(sep); score > best {
			best, column, t.sep = score, c, sep
		}
	}
	return column, best > 0
}

// try scores a separator by the lines that hold a date and another cell, and
// returns the column in which most dates stand.
func (t *table) try(sep byte) (score, column int) {
	const look = 400
	count := map[int]int{}
	looked := 0
	for _, line := range t.rows {
		if strings.TrimSpace(line) == "" {
			continue
		}
		if looked++; looked > look {
			break
		}
		row := cells(line, sep)
		if len(row) < 2 || len(row) > MaxColumns {
			continue
		}
		for c, cell := range row {
			// Unix seconds look like a serial number, so a real date wins.
			switch kindOf(cell) {
			case dateAndTime, dateOnly:
				count[c] += 3
			case serialTime:
				count[c] += 2
			case unixTime, serialDay:
				count[c]++
			}
		}
	}
	for c, n := range count {
		if n > score || n == score && c < column {
			score, column = n, c
		}
	}
	return score, column
}

// findHeader takes the last line before the data that names columns: two or
// more cells, most of them words. A line of field widths ("5s 15s 20d") is
// passed over; a line of units is joined to the names above it.
func (t *table) findHeader() {
	for i := t.dataAt - 1; i >= 0; i-- {
		row := t.row(i)
		if blankRow(row) {
			continue
		}
		if len(row) < 2 {
			return
		}
		words, widths, filled := 0, 0, 0
		for _, c := range row {
			if c == "" {
				continue
			}
			filled++
			if _, _, err := ParseNumber(c, MarkUnknown); err != nil && kindOf(c) == noStamp {
				words++
			}
			if n := digitRun(c); n > 0 && n == len(c)-1 && strings.ContainsAny(c[n:], "sdn") {
				widths++
			}
		}
		switch {
		case widths == filled:
			continue
		case words*2 <= filled:
			return
		}
		t.header, t.headerAt = row, i
		t.joinLoose()
		t.joinUnits(i)
		return
	}
}

var looseWord = regexp.MustCompile(`^(?:(?:GMT|UTC)\s*[+\-]\s?\d{1,2}(?::?\d{2})?|°\s?[CF]|%|mg/L)$`)

// joinLoose mends a heading that has more cells than the data below it, because a
// comma inside a name was not quoted: Date Time, GMT-08:00.
func (t *table) joinLoose() {
	const look = 200
	most := 0
	for i := t.dataAt; i < len(t.rows) && i < t.dataAt+look; i++ {
		most = max(most, len(t.row(i)))
	}
	var out []string
	loose := 0
	for _, c := range t.header {
		if len(out) > 0 && looseWord.MatchString(c) {
			out[len(out)-1] += string(t.sep) + " " + c
			loose++
			continue
		}
		out = append(out, c)
	}
	if loose > 0 && len(out) == most {
		t.header = out
	}
}

func (t *table) joinUnits(i int) {
	if i == 0 {
		return
	}
	above := t.row(i - 1)
	if len(above) != len(t.header) || blankRow(above) {
		return
	}
	units := 0
	for c, cell := range t.header {
		if len(cell) > 24 || above[c] == "" && cell != "" {
			return
		}
		if u := unitOf("x ["+strings.Trim(cell, "[]()")+"]", true); u != "" && cell != "" {
			units++
		}
	}
	if units == 0 {
		return
	}
	for c := range t.header {
		t.header[c] = strings.TrimSpace(above[c] + " " + bracket(t.header[c]))
	}
	t.headerAt = i - 1
}

func bracket(s string) string {
	if s == "" {
		return ""
	}
	return "[" + strings.Trim(s, "[]()") + "]"
}

// measure counts the columns and refuses a file in which the comma both parts
// the columns and marks the decimals: "2024-05-18,7,5" under "Date,Temp".
func (t *table) measure() error {
	t.columns = len(t.header)
	long, rows := 0, 0
	for i := t.dataAt; i < len(t.rows) && i < t.dataAt+2000; i++ {
		row := t.row(i)
		if blankRow(row) {
			continue
		}
		rows++
		n := len(row)
		for n > 0 && row[n-1] == "" {
			n--
		}
		if len(t.header) > 0 && n > len(t.header) {
			long++
		}
		if len(t.header) == 0 {
			t.columns = max(t.columns, len(row))
		}
	}
	switch {
	case t.columns > MaxColumns:
		return refuseFile("ingest.file.too_many_columns", map[string]any{"Columns": t.columns, "Most": MaxColumns})
	case t.sep == ',' && long*2 > rows:
		return refuseFile("ingest.file.comma_both", map[string]any{"Header": len(t.header)})
	}
	return nil
}

// name returns the heading of a column, "" when it has none.
func (t *table) name(c int) string {
	if c >= 0 && c < len(t.header) {
		return t.header[c]
	}
	return ""
}
