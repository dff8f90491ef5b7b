package ingest

import "strings"

// Answers are what a person says about a file. The zero Answers says nothing.
// An answer that is none of the options of its question counts as not given.
type Answers struct {
	TimeColumn int       `json:"time_column,omitempty"` // 1 is the first column
	DateOrder  DateOrder `json:"date_order,omitempty"`
	Midnight   string    `json:"midnight,omitempty"` // MidnightDaily or MidnightInstant
	Decimal    string    `json:"decimal,omitempty"`  // "." or ","
	Series     string    `json:"series,omitempty"`   // Series.ID
	// UCUM; used where the heading names no unit or a doubtful one
	Unit string `json:"unit,omitempty"`
	// ZoneSite, ZoneUTC, ZoneStandard or "-04:00"; over the header
	Zone   string         `json:"zone,omitempty"`
	Air    string         `json:"air,omitempty"`    // AirLeaveOut or AirWater
	Sheet  int            `json:"sheet,omitempty"`  // of a spreadsheet; 1 is the first
	Limits *QualityLimits `json:"limits,omitempty"` // nil: DefaultQualityLimits
}

// Answers to the question about a file in which every time is midnight.
const (
	MidnightDaily   = "daily"
	MidnightInstant = "instant"
)

// Answers to the question about readings from outside the water at the start and
// the end: leave them out of sums, or take them for water.
const (
	AirLeaveOut = "out"
	AirWater    = "water"
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
	Serial       bool        `json:"serial,omitempty"`       // day numbers of a spreadsheet
	Zone         string      `json:"zone"`                   // "-04:00", "UTC", "site", "standard" or "rows"
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
	winter    bool // standard time of the site all year
	series    []Series
	chosen    *Series
	dialect   Dialect
	questions []Question
}

func analyse(data []byte, ans Answers) (*analysis, error) {
	text, enc, book, err := textOf(data, ans.Sheet)
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
	a.askSheet(book)
	a.askTimeColumn(choices, ans.TimeColumn)
	if err := a.askDateOrder(ans.DateOrder); err != nil {
		return nil, err
	}
	a.askMidnight(ans.Midnight)
	if a.p.askMark {
		a.ask(Question{ID: "decimal", Key: "ingest.ask.decimal", Required: true,
			Args: map[string]any{"Example": a.unclearNumber()},
			Options: []Option{{Value: ",", Key: "ingest.option.decimal_comma"},
				{Value: ".", Key: "ingest.option.decimal_thousands"}}})
	}
	if a.series = seriesOf(t, a.p, a.time); len(a.series) == 0 {
		return nil, refuseFile("ingest.file.no_temperature",
			map[string]any{"Columns": strings.Join(trimNames(t.header), ", ")})
	}
	a.askSeries(ans.Series)
	a.askUnit(ans.Unit)
	a.askZone(ans.Zone)
	a.describe()
	return a, nil
}

func (a *analysis) describe() {
	d := &a.dialect
	d.Encoding, d.Separator, d.Decimal = a.t.encoding, string(a.t.sep), a.p.mark
	d.TimeColumn, d.ClockColumn = a.t.name(a.time.date), a.t.name(a.time.clock)
	d.Serial = a.time.days
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
