package ingest

import (
	"math"
	"net/url"
	"slices"
	"sort"
	"strconv"
	"strings"
)

// GroupValue is one value of a column that tells series of a long table apart,
// such as Depth = 9.
type GroupValue struct {
	Column int    `json:"column"` // 1 is the first
	Name   string `json:"name"`
	Value  string `json:"value"`
}

// Series is one run of values that a file offers: a column, or the part of a
// column that belongs to one site, depth or logger.
type Series struct {
	ID       string       `json:"id"`     // stable for the same file: "3", or "4/9" with a group
	Column   int          `json:"column"` // 1 is the first
	Name     string       `json:"name"`
	Group    []GroupValue `json:"group,omitempty"`
	Quantity Quantity     `json:"quantity"`
	Unit     string       `json:"unit"`           // UCUM; "" when the file does not say
	Inferred bool         `json:"inferred"`       // unit taken from the size of the values
	Air      bool         `json:"air"`            // air temperature, by its heading
	Twin     string       `json:"twin,omitempty"` // ID of the same readings in the other unit
	Count    int          `json:"count"`
	Min      float64      `json:"min"` // in Unit, over all values, good or not
	Max      float64      `json:"max"`

	mean, extreme, doubtful bool
}

// Label names a series for a person in the words of the file.
func (s Series) Label() string {
	name := s.Name
	if name == "" {
		name = "#" + strconv.Itoa(s.Column)
	}
	for _, g := range s.Group {
		name += " · " + g.Name + " " + g.Value
	}
	return name
}

// Bounds on the search, so that a file made to be slow is not.
const (
	maxGroups       = 200 // combinations of site, depth and so on
	maxGroupColumns = 8
	maxTried        = 12 // unnamed columns tried for telling equal times apart
)

// groupColumns finds the columns whose values split the rows into series.
func groupColumns(t *table, p *profile, tc timeColumns) []int {
	var out []int
	can := func(c int) bool {
		col := &p.cols[c]
		n := len(col.distinct)
		return c != tc.date && c != tc.clock && col.distinct != nil && n >= 2 && n*3 <= p.rows &&
			col.filled*10 >= p.rows*9 && !col.meaning.known && col.dates() == 0 &&
			!strings.ContainsAny(col.name, "[(") // "pH [-] (2.0 m depth)" is a measurement
	}
	for c := range p.cols {
		if len(out) < maxGroupColumns && can(c) && nameWho.MatchString(plain(p.cols[c].name)) {
			out = append(out, c)
		}
	}
	if len(out) > 0 || repeated(t, tc, -1)*5 < p.rows {
		return out
	}
	tried := 0
	for c := range p.cols {
		if !can(c) || p.cols[c].meaning.skip {
			continue
		}
		if tried++; tried > maxTried {
			break
		}
		if repeated(t, tc, c)*100 < p.rows {
			return []int{c}
		}
	}
	return nil
}

// repeated counts rows whose time, with the cell of column extra, came before.
func repeated(t *table, tc timeColumns, extra int) int {
	seen := map[string]bool{}
	n := 0
	for i := t.dataAt; i < len(t.rows); i++ {
		row := t.row(i)
		if blankRow(row) {
			continue
		}
		key := at(row, tc.date) + "\x00" + at(row, tc.clock) + "\x00" + at(row, extra)
		if seen[key] {
			n++
		}
		seen[key] = true
	}
	return n
}

func at(row []string, c int) string {
	if c < 0 || c >= len(row) {
		return ""
	}
	return row[c]
}

// valueColumns lists the columns that can be read: those whose heading names a
// quantity or, when none names a temperature, every column of numbers that
// could be water.
func valueColumns(p *profile, tc timeColumns, groups []int) []int {
	taken := map[int]bool{tc.date: true, tc.clock: true}
	for _, g := range groups {
		taken[g] = true
	}
	var out []int
	temperature := false
	for c := range p.cols {
		col := &p.cols[c]
		if !taken[c] && col.isNumeric() && col.meaning.known && !col.meaning.skip {
			out = append(out, c)
			temperature = temperature || col.meaning.quantity == Temperature
		}
	}
	if temperature {
		return out
	}
	for c := range p.cols {
		col := &p.cols[c]
		if taken[c] || !col.isNumeric() || col.meaning.known || col.meaning.skip ||
			nameWho.MatchString(plain(col.name)) {
			continue
		}
		if col.plausible*10 >= col.numeric*8 {
			col.meaning.quantity = Temperature
			out = append(out, c)
		}
	}
	sort.Ints(out)
	return out
}

// seriesOf lists what the file offers, in the order of the file.
func seriesOf(t *table, p *profile, tc timeColumns) []Series {
	groups := groupColumns(t, p, tc)
	values := valueColumns(p, tc, groups)
	var list []Series
	index := map[string]int{}
	tuples := map[string]bool{}
	for i := t.dataAt; i < len(t.rows); i++ {
		row := t.row(i)
		if blankRow(row) || strings.HasPrefix(row[0], "#") {
			continue
		}
		key := ""
		for _, g := range groups {
			key += "/" + url.PathEscape(at(row, g))
		}
		if !tuples[key] && len(tuples) == maxGroups {
			continue
		}
		tuples[key] = true
		for _, c := range values {
			v, _, err := ParseNumber(at(row, c), p.mark)
			if err == ErrNotNumber {
				continue
			}
			id := strconv.Itoa(c+1) + key
			k, ok := index[id]
			if !ok {
				k = len(list)
				index[id] = k
				list = append(list, newSeries(p, c, id, row, groups))
			}
			list[k].Count++
			if err == nil {
				list[k].Min, list[k].Max = math.Min(list[k].Min, v), math.Max(list[k].Max, v)
			}
		}
	}
	for i := range list {
		if list[i].Min > list[i].Max { // every number was unclear
			list[i].Min, list[i].Max = 0, 0
		}
	}
	sort.SliceStable(list, func(a, b int) bool { return list[a].Column < list[b].Column })
	markTwins(t, p, list)
	return list
}

func newSeries(p *profile, c int, id string, row []string, groups []int) Series {
	col := &p.cols[c]
	m := col.meaning
	s := Series{ID: id, Column: c + 1, Name: col.name, Quantity: m.quantity, Unit: m.unit, Air: m.air,
		Min: math.Inf(1), Max: math.Inf(-1), mean: m.mean, extreme: m.extreme && !m.mean}
	for _, g := range groups {
		s.Group = append(s.Group, GroupValue{g + 1, p.cols[g].name, at(row, g)})
	}
	if s.Unit == "" {
		s.guessUnit(col)
	} else if s.Quantity == Temperature {
		s.doubtful = unlikely(s.Unit, col) && likelier(s.Unit, col) || m.scale != "" && !whole(col.low)
	}
	return s
}

// Most readings of a heading's unit lie between these (C), or a person is asked
// for the unit: no salmonid tank is above 30, and none below its ice. A local choice.
const coolest, warmest = -5, 30

// unlikely reports whether more than a tenth of a column can be no water in the
// unit of its heading.
func unlikely(unit string, col *column) bool {
	out := 0
	for _, v := range col.low {
		const lost = -127 // written by a sensor that does not answer
		if c := toCanonical(unit, v); (c < coolest || c > warmest) && v != lost {
			out++
		}
	}
	return len(col.low) > 0 && out*10 > len(col.low)
}

// likelier reports whether a column can be water in another unit; only whole numbers
// are tenths.
func likelier(unit string, col *column) bool {
	return slices.ContainsFunc(TemperatureUnits(), func(u string) bool {
		return u != unit && (u == baseUnit(u) || whole(col.low)) && !unlikely(u, col)
	})
}

// guessUnit takes a unit from the values where only one is possible: most
// values below 32 would be ice in Fahrenheit, and above 45 no tank in Celsius.
func (s *Series) guessUnit(col *column) {
	v := append([]float64(nil), col.low...)
	if len(v) == 0 {
		return
	}
	sort.Float64s(v)
	p10, p90 := v[len(v)/10], v[len(v)*9/10]
	scale := col.meaning.scale
	if scale != "" {
		p10, p90 = toCanonical(scale+UnitCel, p10), toCanonical(scale+UnitCel, p90)
	}
	switch {
	case s.Quantity == Temperature && col.cellUnit != "":
		s.Unit = col.cellUnit
	case s.Quantity == Temperature && p90 < 32 && p90 > -5:
		s.Unit, s.Inferred = scale+UnitCel, true
	case s.Quantity == Temperature && p10 > 45 && p90 < 113:
		// Whole numbers may be tenths of a degree Celsius as well.
		if scale != "" || !whole(v) {
			s.Unit, s.Inferred = scale+UnitDegF, true
		}
	case s.Quantity == Temperature && scale == "" && p10 > 268 && p90 < 306:
		s.Unit, s.Inferred = UnitKelvin, true
	case s.Quantity == OxygenMgL && p90 <= 25:
		s.Unit, s.Inferred = UnitMgL, true
	case s.Quantity == OxygenMgL && p10 > 25:
		s.Quantity, s.Unit, s.Inferred = OxygenPercent, UnitPercent, true
	}
}

func whole(v []float64) bool {
	return !slices.ContainsFunc(v, func(x float64) bool { return x != math.Trunc(x) })
}

// markTwins finds a Celsius and a Fahrenheit column that hold the same
// readings (within 0.1 degrees in 95 rows of 100).
func markTwins(t *table, p *profile, list []Series) {
	for a := range list {
		for b := range list {
			if list[a].Unit == UnitCel && list[b].Unit == UnitDegF && len(list[a].Group) == 0 &&
				list[a].Twin == "" && list[b].Twin == "" && sameReadings(t, p, list[a].Column-1, list[b].Column-1) {
				list[a].Twin, list[b].Twin = list[b].ID, list[a].ID
			}
		}
	}
}

func sameReadings(t *table, p *profile, celsius, fahrenheit int) bool {
	rows, same := 0, 0
	for i := t.dataAt; i < len(t.rows) && rows < sampleSize; i++ {
		row := t.row(i)
		c, _, errC := ParseNumber(at(row, celsius), p.mark)
		f, _, errF := ParseNumber(at(row, fahrenheit), p.mark)
		if errC != nil || errF != nil {
			continue
		}
		rows++
		if math.Abs(toCanonical(UnitDegF, f)-c) <= 0.1 {
			same++
		}
	}
	return rows > 0 && same*100 >= rows*95
}

// choose picks a series without asking only when one answer is natural: a
// single water temperature, the Celsius half of a pair, or the daily mean
// beside its minimum and maximum.
func choose(list []Series) *Series {
	var best *Series
	n := 0
	for i := range list {
		s := &list[i]
		if s.Quantity != Temperature || s.Air || s.Twin != "" && s.Unit == UnitDegF || s.extreme {
			continue
		}
		n++
		best = s
	}
	if n == 1 {
		return best
	}
	return nil
}
