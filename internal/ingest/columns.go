package ingest

import (
	"math"
	"slices"
	"strings"
)

// column is what one pass over the data found in it.
type column struct {
	name      string
	meaning   meaning
	filled    int
	missing   int // "NA" and the like
	numeric   int // cells that can be read as numbers
	plausible int // numbers that could be water in either unit of temperature
	byKind    [7]int
	distinct  map[string]int // nil when there are more than maxDistinct
	min, max  float64
	low       []float64 // a sample of the numbers, for guessing the unit
	cellUnit  string    // unit written in the cells themselves
}

const (
	maxDistinct = 60
	sampleSize  = 4000
)

// profile is the outcome of one pass over all rows of a table.
type profile struct {
	cols    []column
	rows    int // rows with something in them
	blank   int
	comment int
	mark    DecimalMark
	askMark bool
}

func profileOf(t *table, want DecimalMark) *profile {
	p := &profile{cols: make([]column, t.columns)}
	for c := range p.cols {
		p.cols[c] = column{name: t.name(c), meaning: meaningOf(t.name(c)), distinct: map[string]int{},
			min: math.Inf(1), max: math.Inf(-1)}
	}
	marks := make([]markCount, t.columns)
	for i := t.dataAt; i < len(t.rows); i++ {
		row := t.row(i)
		switch {
		case blankRow(row):
			p.blank++
			continue
		case strings.HasPrefix(row[0], "#"):
			p.comment++
			continue
		}
		p.rows++
		for c := 0; c < len(row) && c < len(p.cols); c++ {
			p.cols[c].see(row[c], &marks[c])
		}
	}
	p.settleMark(marks, want)
	for i := t.dataAt; i < len(t.rows); i++ {
		row := t.row(i)
		for c := 0; c < len(row) && c < len(p.cols); c++ {
			if p.cols[c].dates() == 0 {
				p.cols[c].measure(row[c], p.mark)
			}
		}
	}
	return p
}

func (c *column) dates() int { return c.byKind[dateAndTime] + c.byKind[dateOnly] + c.byKind[timeOnly] }

func (c *column) see(cell string, m *markCount) {
	if cell == "" {
		return
	}
	if missing(cell) {
		c.missing++
		return
	}
	c.filled++
	c.byKind[kindOf(cell)]++
	m.add(cell)
	if c.distinct != nil {
		if c.distinct[cell]++; len(c.distinct) > maxDistinct {
			c.distinct = nil
		}
	}
}

// settleMark finds the decimal mark of the file from the columns that hold no
// dates, unless a person has said it.
func (p *profile) settleMark(marks []markCount, want DecimalMark) {
	var all markCount
	for c, m := range marks {
		if p.cols[c].dates() > 0 {
			continue
		}
		all.dot += m.dot
		all.dotClear += m.dotClear
		all.comma += m.comma
		all.commaClear += m.commaClear
	}
	if p.mark, p.askMark = all.mark(); want != MarkUnknown {
		p.mark, p.askMark = want, false
	}
}

func (c *column) measure(cell string, mark DecimalMark) {
	if cell == "" || missing(cell) {
		return
	}
	v, unit, err := ParseNumber(cell, mark)
	if err == ErrNumberUnclear {
		c.numeric++
		return
	}
	if err != nil {
		return
	}
	c.numeric++
	if unit != "" {
		c.cellUnit = unit
	}
	if v >= -5 && v <= 113 {
		c.plausible++
	}
	c.min, c.max = math.Min(c.min, v), math.Max(c.max, v)
	if len(c.low) < sampleSize {
		c.low = append(c.low, v)
	}
}

// isNumeric: four cells of five are numbers.
func (c *column) isNumeric() bool { return c.numeric > 0 && c.numeric*5 >= c.filled*4 }

// isEvent: words that stand in less than half of the rows, such as "Logged",
// or a column that is named after what loggers report.
func (c *column) isEvent(rows int) bool {
	return c.filled > 0 && !c.isNumeric() && c.dates() == 0 &&
		(c.filled*2 < rows || nameEvent.MatchString(plain(c.name)))
}

// timeColumns says where the time of a row stands.
type timeColumns struct {
	date  int // the column with the date, the date and time, or unix time
	clock int // the column with the time of day, -1 when it is with the date
	kind  stampKind
	days  bool // the date is the day number of a spreadsheet
}

// stamp reads the date of a row, and its time where it stands with it.
func (tc timeColumns) stamp(cell string) (stamp, bool) {
	if tc.days {
		return scanSerial(cell)
	}
	return scanStamp(cell)
}

// timeChoices lists the columns that may hold the time, best first.
func (p *profile) timeChoices() []timeColumns {
	var full, split, daily, unix, serial []timeColumns
	clock := -1
	for c := range p.cols {
		if col := &p.cols[c]; col.byKind[timeOnly]*10 >= col.filled*8 && col.filled*2 > p.rows {
			clock = c
			break
		}
	}
	for c := range p.cols {
		col := &p.cols[c]
		if col.filled*2 < p.rows {
			continue
		}
		both, day := col.byKind[dateAndTime], col.byKind[dateOnly]
		switch {
		case (both+day)*10 >= col.filled*8 && both > 0 && both*10 >= day:
			full = append(full, timeColumns{c, -1, dateAndTime, false})
		case (both+day)*10 >= col.filled*8 && clock >= 0:
			split = append(split, timeColumns{c, clock, dateAndTime, false})
		case (both+day)*10 >= col.filled*8:
			daily = append(daily, timeColumns{c, -1, dateOnly, false})
		case col.byKind[unixTime]*10 >= col.filled*9 && unixName(col.name, c):
			unix = append(unix, timeColumns{c, -1, unixTime, false})
		case (col.byKind[serialTime]+col.byKind[serialDay])*10 >= col.filled*9 && unixName(col.name, c):
			serial = append(serial, col.serial(c, clock))
		}
	}
	return slices.Concat(full, split, daily, unix, serial)
}

// serial says where the time stands beside day numbers.
func (c *column) serial(at, clock int) timeColumns {
	switch {
	case c.byKind[serialTime] > 0:
		return timeColumns{at, -1, dateAndTime, true}
	case clock >= 0:
		return timeColumns{at, clock, dateAndTime, true}
	}
	return timeColumns{at, -1, dateOnly, true}
}

func unixName(name string, c int) bool {
	p := plain(name)
	return c == 0 && p == "" || strings.Contains(p, "time") || strings.Contains(p, "sec") ||
		strings.Contains(p, "unix") || strings.Contains(p, "epoch") || strings.Contains(p, "date")
}
