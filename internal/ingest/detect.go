package ingest

import (
	"fmt"
	"strconv"
	"strings"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// Answers are what a person says about a file. The zero Answers says nothing.
// An answer that is none of the options of its question counts as not given.
type Answers struct {
	TimeColumn int            `json:"time_column,omitempty"` // 1 is the first column
	DateOrder  DateOrder      `json:"date_order,omitempty"`
	Midnight   string         `json:"midnight,omitempty"` // MidnightDaily or MidnightInstant
	Decimal    string         `json:"decimal,omitempty"`  // "." or ","
	Series     string         `json:"series,omitempty"`   // Series.ID
	Unit       string         `json:"unit,omitempty"`     // UCUM; used where the heading names no unit
	Zone       string         `json:"zone,omitempty"`     // ZoneSite, ZoneUTC or "-04:00"; over the header
	Limits     *QualityLimits `json:"limits,omitempty"`   // nil: DefaultQualityLimits
}

// Answers to the question about a file in which every time is midnight.
const (
	MidnightDaily   = "daily"
	MidnightInstant = "instant"
)

// Question is something the file leaves open. The answer goes into the field
// of Answers with the JSON name ID. A question that is not Required is
// answered by Suggested unless a person says otherwise.
type Question struct {
	ID        string         `json:"id"`
	Key       string         `json:"key"`
	Args      map[string]any `json:"args,omitempty"`
	Options   []Option       `json:"options"`
	Required  bool           `json:"required"`
	Suggested string         `json:"suggested,omitempty"`
}

// Option is one answer to a question.
type Option struct {
	Value string         `json:"value"`
	Key   string         `json:"key"`
	Args  map[string]any `json:"args,omitempty"`
}

// Dialect is how a file writes things.
type Dialect struct {
	Encoding     string      `json:"encoding"`
	Separator    string      `json:"separator"`
	Decimal      DecimalMark `json:"decimal"` // MarkUnknown when mixed or open
	DateOrder    DateOrder   `json:"date_order,omitempty"`
	TimeColumn   string      `json:"time_column"`
	ClockColumn  string      `json:"clock_column,omitempty"` // when date and time of day stand apart
	Daily        bool        `json:"daily"`                  // dates without a time of day
	Unix         bool        `json:"unix"`                   // seconds or milliseconds since 1970
	Zone         string      `json:"zone"`                   // "-04:00", "UTC" or "site"
	ZoneInFile   bool        `json:"zone_in_file"`
	Interleaved  bool        `json:"interleaved"` // two loggers take turns line by line
	EventColumns []string    `json:"event_columns,omitempty"`
	HeaderLine   int         `json:"header_line"` // 0 when there is none
	DataLine     int         `json:"data_line"`
}

// Preview is what Detect understood of a file.
type Preview struct {
	Dialect   Dialect    `json:"dialect"`
	Columns   []string   `json:"columns"`
	Series    []Series   `json:"series"`
	Chosen    string     `json:"chosen,omitempty"` // ID of the series that Read would take now
	Sample    [][]string `json:"sample"`           // first rows of data as written
	Questions []Question `json:"questions"`
	Lines     int        `json:"lines"`
	Rows      int        `json:"rows"` // rows of data that are not blank
	BlankRows int        `json:"blank_rows"`
}

// Ready reports whether Read can run: no required question is open.
func (p Preview) Ready() bool { return len(required(p.Questions)) == 0 }

func required(qs []Question) []Question {
	var out []Question
	for _, q := range qs {
		if q.Required {
			out = append(out, q)
		}
	}
	return out
}

// Detect reads a file far enough to say how it is written, which series it
// offers and what has to be asked. Answers given so far narrow the questions.
// The error is a *FileError when the file cannot be used.
func Detect(data []byte, answers Answers) (Preview, error) {
	a, err := analyse(data, answers)
	if err != nil {
		return Preview{}, err
	}
	const sample = 10
	p := Preview{Dialect: a.dialect, Series: a.series, Questions: a.questions, Lines: len(a.t.rows),
		Rows: a.p.rows, BlankRows: a.p.blank}
	for c := range a.p.cols {
		p.Columns = append(p.Columns, a.p.cols[c].name)
	}
	if a.chosen != nil {
		p.Chosen = a.chosen.ID
	}
	for i := a.t.dataAt; i < len(a.t.rows) && len(p.Sample) < sample; i++ {
		if row := a.t.row(i); !blankRow(row) {
			p.Sample = append(p.Sample, row)
		}
	}
	return p, nil
}

// analysis is a file understood as far as the answers allow.
type analysis struct {
	t         *table
	p         *profile
	time      timeColumns
	order     DateOrder
	offset    int // seconds east of UTC, used when fixed
	fixed     bool
	series    []Series
	chosen    *Series
	dialect   Dialect
	questions []Question
}

func analyse(data []byte, ans Answers) (*analysis, error) {
	text, enc, err := decode(data)
	if err != nil {
		return nil, err
	}
	t, err := newTable(text, enc)
	if err != nil {
		return nil, err
	}
	a := &analysis{t: t, p: profileOf(t, decimalAnswer(ans.Decimal))}
	choices := a.p.timeChoices()
	if len(choices) == 0 {
		return nil, refuseFile("ingest.file.no_time_column", nil)
	}
	a.askTimeColumn(choices, ans.TimeColumn)
	if err := a.askDateOrder(ans.DateOrder); err != nil {
		return nil, err
	}
	a.askMidnight(ans.Midnight)
	if a.p.askMark {
		a.ask(Question{ID: "decimal", Key: "ingest.ask.decimal", Required: true, Args: map[string]any{"Example": a.unclearNumber()},
			Options: []Option{{Value: ",", Key: "ingest.option.decimal_comma"}, {Value: ".", Key: "ingest.option.decimal_thousands"}}})
	}
	if a.series = seriesOf(t, a.p, a.time); len(a.series) == 0 {
		return nil, refuseFile("ingest.file.no_temperature", map[string]any{"Columns": strings.Join(trimNames(t.header), ", ")})
	}
	a.askSeries(ans.Series)
	a.askUnit(ans.Unit)
	a.askZone(ans.Zone)
	a.describe()
	return a, nil
}

func (a *analysis) ask(q Question) { a.questions = append(a.questions, q) }

func decimalAnswer(s string) DecimalMark {
	if s == "." || s == "," {
		return DecimalMark(s[0])
	}
	return MarkUnknown
}

func trimNames(names []string) []string {
	const most = 12
	if len(names) > most {
		return append(append([]string(nil), names[:most]...), "…")
	}
	return names
}

func (a *analysis) askTimeColumn(choices []timeColumns, want int) {
	a.time = choices[0]
	if len(choices) == 1 {
		return
	}
	q := Question{ID: "time_column", Key: "ingest.ask.time_column", Suggested: strconv.Itoa(choices[0].date + 1)}
	for _, c := range choices {
		q.Options = append(q.Options, Option{strconv.Itoa(c.date + 1), "ingest.option.column",
			map[string]any{"Name": a.t.name(c.date), "Number": c.date + 1}})
		if c.date+1 == want {
			a.time = c
		}
	}
	a.ask(q)
}

// askDateOrder keeps the orders in which the most rows are dates; when more
// than one is left and they disagree, a person has to say.
func (a *analysis) askDateOrder(want DateOrder) error {
	if a.time.kind == unixTime {
		return nil
	}
	fit := map[DateOrder]int{}
	best, example := 0, ""
	differ := false
	for i := a.t.dataAt; i < len(a.t.rows); i++ {
		cell := at(a.t.row(i), a.time.date)
		st, ok := scanStamp(cell)
		if !ok || !st.hasDate {
			continue
		}
		var first civil.Date
		for _, o := range allOrders {
			on, ok := st.date(o)
			if !ok {
				continue
			}
			if fit[o]++; fit[o] > best {
				best = fit[o]
			}
			if first.IsZero() {
				first = on
			} else if first != on && example == "" {
				differ, example = true, cell
			}
		}
	}
	var left []DateOrder
	for _, o := range allOrders {
		if fit[o] == best && best > 0 {
			left = append(left, o)
		}
	}
	switch {
	case len(left) == 0:
		return refuseFile("ingest.file.no_time_column", nil)
	case len(left) == 1 || !differ:
		a.order = left[0]
		return nil
	}
	q := Question{ID: "date_order", Key: "ingest.ask.date_order", Required: true, Args: map[string]any{"Example": example}}
	st, _ := scanStamp(example)
	for _, o := range left {
		on, _ := st.date(o)
		q.Options = append(q.Options, Option{string(o), "ingest.option.date_order." + string(o),
			map[string]any{"Example": example, "Date": on}})
		if o == want {
			a.order, q.Required = o, false
		}
	}
	a.ask(q)
	if a.order == "" {
		a.order = left[0] // for the preview only; Read stops at the question
	}
	return nil
}

// askMidnight asks about files in which every time is 00:00: a spreadsheet
// writes a plain date so, and a daily mean has no time of day.
func (a *analysis) askMidnight(want string) {
	if a.time.kind != dateAndTime || a.time.clock >= 0 {
		return
	}
	rows := 0
	for i := a.t.dataAt; i < len(a.t.rows); i++ {
		st, ok := scanStamp(at(a.t.row(i), a.time.date))
		if !ok || !st.hasTime {
			continue
		}
		if rows++; st.hour != 0 || st.minute != 0 || st.second != 0 {
			return
		}
	}
	if rows < 2 {
		return
	}
	a.ask(Question{ID: "midnight", Key: "ingest.ask.midnight", Required: want != MidnightDaily && want != MidnightInstant,
		Options: []Option{{Value: MidnightDaily, Key: "ingest.option.midnight_daily"}, {Value: MidnightInstant, Key: "ingest.option.midnight_instant"}}})
	if want == MidnightDaily {
		a.time.kind = dateOnly
	}
}

func (a *analysis) unclearNumber() string {
	for i := a.t.dataAt; i < len(a.t.rows); i++ {
		for _, c := range a.t.row(i) {
			if _, _, err := ParseNumber(c, MarkUnknown); err == ErrNumberUnclear {
				return cut(c)
			}
		}
	}
	return "1,500"
}

func (a *analysis) askSeries(want string) {
	natural := choose(a.series)
	a.chosen = natural
	given := false
	for i := range a.series {
		if a.series[i].ID == want {
			a.chosen, given = &a.series[i], true
		}
	}
	if len(a.series) == 1 && a.chosen != nil {
		return
	}
	q := Question{ID: "series", Key: "ingest.ask.series", Required: natural == nil && !given}
	if natural != nil {
		q.Suggested = natural.ID
	}
	for _, s := range a.series {
		q.Options = append(q.Options, Option{s.ID, "ingest.option.series", map[string]any{
			"Name": s.Label(), "Unit": s.Unit, "Count": s.Count, "Min": s.Min, "Max": s.Max}})
	}
	a.ask(q)
}

// askUnit asks for a unit that neither the heading nor the values settle, and
// shows one that was taken from the values.
func (a *analysis) askUnit(want string) {
	s := a.chosen
	if s == nil || s.Unit != "" && !s.Inferred {
		return
	}
	options := map[Quantity][]string{Temperature: {UnitCel, UnitDegF}, OxygenMgL: {UnitMgL}, OxygenPercent: {UnitPercent}}[s.Quantity]
	q := Question{ID: "unit", Key: "ingest.ask.unit", Suggested: s.Unit, Required: s.Unit == "",
		Args: map[string]any{"Name": s.Label(), "Min": s.Min, "Max": s.Max}}
	for _, u := range options {
		q.Options = append(q.Options, Option{Value: u, Key: "ingest.option.unit." + unitKey(u)})
		if u == want {
			s.Unit, q.Required = u, false
		}
	}
	a.ask(q)
}

func unitKey(u string) string {
	return map[string]string{UnitCel: "celsius", UnitDegF: "fahrenheit", UnitMgL: "mg_l", UnitPercent: "percent"}[u]
}

// askZone takes the offset of the header, else of the lines above it, else the
// zone of the site; a person may say otherwise.
func (a *analysis) askZone(want string) {
	d := &a.dialect
	d.Zone = ZoneSite
	switch {
	case a.time.kind == unixTime:
		d.Zone, d.ZoneInFile, a.fixed = ZoneUTC, true, true
		return
	case a.time.kind == dateOnly:
		return
	}
	off, ok := headerZone(a.t.name(a.time.date))
	if !ok && a.time.clock >= 0 {
		off, ok = headerZone(a.t.name(a.time.clock))
	}
	for i := 0; i < a.t.dataAt && !ok; i++ {
		if row := a.t.row(i); zoneLabel.MatchString(row[0]) {
			off, ok = headerZone(strings.Join(row[1:], " ") + " " + row[0])
		}
	}
	if ok {
		d.Zone, d.ZoneInFile, a.fixed, a.offset = formatOffset(off), true, true, off
	}
	q := Question{ID: "zone", Key: "ingest.ask.zone", Suggested: d.Zone,
		Options: []Option{{Value: ZoneSite, Key: "ingest.option.zone_site"}, {Value: ZoneUTC, Key: "ingest.option.zone_utc"}}}
	if ok {
		q.Options = append([]Option{{d.Zone, "ingest.option.zone_file", map[string]any{"Offset": d.Zone}}}, q.Options...)
	}
	switch off, isOffset := parseOffset(want); {
	case want == ZoneSite:
		d.Zone, a.fixed = ZoneSite, false
	case isOffset:
		d.Zone, a.fixed, a.offset = formatOffset(off), true, off
	}
	a.ask(q)
}

func (a *analysis) describe() {
	d := &a.dialect
	d.Encoding, d.Separator, d.Decimal = a.t.encoding, string(a.t.sep), a.p.mark
	d.TimeColumn, d.ClockColumn = a.t.name(a.time.date), a.t.name(a.time.clock)
	d.Daily, d.Unix, d.DateOrder = a.time.kind == dateOnly, a.time.kind == unixTime, a.order
	d.HeaderLine, d.DataLine = a.t.headerAt+1, a.t.dataAt+1
	for c := range a.p.cols {
		if a.p.cols[c].isEvent(a.p.rows) && c != a.time.date && c != a.time.clock {
			d.EventColumns = append(d.EventColumns, a.p.cols[c].name)
		}
	}
	d.Interleaved = a.interleaved()
}

// interleaved: two columns of numbers of which a row never fills both.
func (a *analysis) interleaved() bool {
	const most = 12
	if len(a.series) < 2 || len(a.series) > most {
		return false
	}
	for x := range a.series {
		for y := range x {
			cx, cy := a.series[x].Column-1, a.series[y].Column-1
			if cx == cy || len(a.series[x].Group) > 0 {
				continue
			}
			both, alone := 0, [2]int{}
			for i := a.t.dataAt; i < len(a.t.rows); i++ {
				row := a.t.row(i)
				switch fx, fy := at(row, cx) != "", at(row, cy) != ""; {
				case fx && fy:
					both++
				case fx:
					alone[0]++
				case fy:
					alone[1]++
				}
			}
			if both == 0 && min(alone[0], alone[1])*10 >= a.p.rows {
				return true
			}
		}
	}
	return false
}

// toCanonical converts a value typed in a unit to the unit of its quantity.
func toCanonical(unit string, v float64) float64 {
	if k, ok := kilopascalPer[unit]; ok {
		return v * k
	}
	return float64(units.TemperatureUnit(unit).ToCelsius(v))
}

// String describes a dialect in one line for logs and the command line.
func (d Dialect) String() string {
	return fmt.Sprintf("%s sep=%q decimal=%q dates=%s zone=%s", d.Encoding, d.Separator, rune(d.Decimal), d.DateOrder, d.Zone)
}
