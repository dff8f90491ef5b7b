package imports

import (
	"fmt"
	"strings"
	"time"

	"reddside/internal/civil"
	"reddside/internal/entries"
	"reddside/internal/i18n"
	"reddside/internal/ingest"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/units"
	"reddside/internal/web/ui"
)

// longWhen writes an instant with its year, on the wall of the site.
func longWhen(p *i18n.Printer, season *logbook.Season, t time.Time) string {
	loc := season.Site.Location()
	return p.Date(civil.In(t, loc)) + ", " + p.Clock(t, loc)
}

// question is a question about a file and whether only a person knows the answer.
type question struct {
	ImportQuestion
	asked bool
}

// importQuestions are the questions of a file as tiles. What the file settles is
// chosen beforehand; what it leaves open is not.
func importQuestions(p *i18n.Printer, pre ingest.Preview, given ingest.Answers, season *logbook.Season) []question {
	var out []question
	for _, q := range pre.Questions {
		x := question{asked: q.Suggested == ""}
		x.Field = ui.Field{Name: q.ID, Label: p.T(q.Key, wordArgs(q.Args)), Value: q.Suggested}
		options := q.Options
		switch q.ID {
		case "zone":
			options = withWinterTime(options, season.Site.Location(), pre)
		case "series":
			options = temperatureOnly(options, pre.Series)
		}
		for _, o := range options {
			x.Options = append(x.Options, ui.Option{Value: o.Value, Label: p.T(o.Key, wordArgs(o.Args))})
			if o.Value == answerOf(given, q.ID) {
				x.Value = o.Value
			}
		}
		if len(x.Options) > 0 {
			out = append(out, x)
		}
	}
	return out
}

func questionText(p *i18n.Printer, pre ingest.Preview, id string) string {
	for _, q := range pre.Questions {
		if q.ID == id {
			return p.T(q.Key, wordArgs(q.Args))
		}
	}
	if id == "confirm" {
		return p.T("import.doubt.title")
	}
	return p.T("import.readings.file")
}

func answerOf(a ingest.Answers, id string) string {
	switch id {
	case "time_column":
		if a.TimeColumn > 0 {
			return fmt.Sprint(a.TimeColumn)
		}
	case "date_order":
		return string(a.DateOrder)
	case "midnight":
		return a.Midnight
	case "decimal":
		return a.Decimal
	case "series":
		return a.Series
	case "unit":
		return a.Unit
	case "zone":
		return a.Zone
	case "air":
		return a.Air
	case "sheet":
		if a.Sheet > 0 {
			return fmt.Sprint(a.Sheet)
		}
	}
	return ""
}

// withWinterTime offers the standard time of the site all year round: many
// loggers do not follow summer time.
func withWinterTime(options []ingest.Option, loc *time.Location, pre ingest.Preview) []ingest.Option {
	_, january := time.Date(2025, 1, 15, 12, 0, 0, 0, loc).Zone()
	_, july := time.Date(2025, 7, 15, 12, 0, 0, 0, loc).Zone()
	if january == july {
		return options
	}
	seconds := min(january, july)
	sign := '+'
	if seconds < 0 {
		sign, seconds = '-', -seconds
	}
	offset := fmt.Sprintf("%c%02d:%02d", sign, seconds/3600, seconds/60%60)
	for _, o := range options {
		if o.Value == offset || o.Value == ingest.ZoneStandard {
			return options
		}
	}
	return append(options[:len(options):len(options)], ingest.Option{Value: offset, Key: "import.option.winter",
		Args: map[string]any{"Offset": offset}})
}

// temperatureOnly leaves out what the logbook cannot hold.
func temperatureOnly(options []ingest.Option, series []ingest.Series) []ingest.Option {
	var out []ingest.Option
	for _, o := range options {
		for _, s := range series {
			if s.ID == o.Value && s.Quantity == ingest.Temperature {
				out = append(out, o)
			}
		}
	}
	return out
}

func offersTemperature(pre ingest.Preview) bool {
	for _, s := range pre.Series {
		if s.Quantity == ingest.Temperature {
			return true
		}
	}
	return false
}

// openDialect is how a file is written, without what is still asked.
func openDialect(pre ingest.Preview) (ingest.Dialect, ingest.Series) {
	d, series := pre.Dialect, chosenSeries(pre)
	for _, q := range pre.Questions {
		switch {
		case !q.Required:
		case q.ID == "date_order":
			d.DateOrder = ""
		case q.ID == "decimal":
			d.Decimal = ingest.MarkUnknown
		case q.ID == "series":
			series = ingest.Series{}
		}
	}
	return d, series
}

func chosenSeries(pre ingest.Preview) ingest.Series {
	for _, s := range pre.Series {
		if s.ID == pre.Chosen {
			return s
		}
	}
	return ingest.Series{}
}

// wordArgs writes units as people do.
func wordArgs(args map[string]any) map[string]any {
	out := make(map[string]any, len(args))
	for k, v := range args {
		if u, ok := v.(string); ok && k == "Unit" {
			v = unitWord(u)
		}
		out[k] = v
	}
	return out
}

func unitWord(u string) string {
	switch u {
	case ingest.UnitCel:
		return "°C"
	case ingest.UnitDegF:
		return "°F"
	case "dCel", "cCel", "mCel", "d[degF]":
		return u[:1] + unitWord(u[1:])
	}
	return u
}

// dialectFacts says how a file is written, in words.
func dialectFacts(p *i18n.Printer, d ingest.Dialect, series, unit string) []ui.Fact {
	var out []ui.Fact
	add := func(key, value string) {
		if value != "" {
			out = append(out, ui.Fact{Label: p.T("import.fact." + key), Value: value})
		}
	}
	if series != "#0" { // no series is chosen yet
		add("series", series)
	}
	if unit != "" {
		add("unit", unitWord(unit))
	}
	add("time", timeColumnWords(d))
	switch {
	case d.Daily:
		add("zone", p.T("import.zone.daily"))
	case d.Zone == ingest.ZoneSite:
		add("zone", p.T("ingest.option.zone_site"))
	case d.Zone == ingest.ZoneStandard:
		add("zone", p.T("import.zone.standard"))
	case d.Zone == ingest.ZoneRows:
		add("zone", p.T("import.zone.rows"))
	case d.ZoneInFile && d.Zone != ingest.ZoneUTC:
		add("zone", p.T("ingest.option.zone_file", map[string]any{"Offset": d.Zone}))
	default:
		add("zone", d.Zone)
	}
	switch {
	case d.Unix:
		add("order", p.T("import.order.unix"))
	case d.Serial:
		add("order", p.T("import.order.serial"))
	case d.DateOrder != "":
		add("order", p.T("import.order."+string(d.DateOrder)))
	}
	switch d.Decimal {
	case ingest.MarkDot:
		add("decimal", p.T("import.decimal.dot"))
	case ingest.MarkComma:
		add("decimal", p.T("import.decimal.comma"))
	}
	if key := map[string]string{",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}[d.Separator]; key != "" {
		add("separator", p.T("import.separator."+key))
	}
	add("encoding", d.Encoding)
	if d.Interleaved {
		add("turns", p.T("import.interleaved"))
	}
	add("events", strings.Join(d.EventColumns, ", "))
	return out
}

func timeColumnWords(d ingest.Dialect) string {
	if d.ClockColumn != "" {
		return d.TimeColumn + ", " + d.ClockColumn
	}
	return d.TimeColumn
}

// planFacts says what would be stored.
func planFacts(p *i18n.Printer, season *logbook.Season, res ingest.Result, plan entries.ReadingsPlan) []ui.Fact {
	var out []ui.Fact
	add := func(key, value string) { out = append(out, ui.Fact{Label: p.T("import.fact." + key), Value: value}) }
	add("keep", p.Count(len(plan.Keep)))
	if n := len(plan.Keep); n > 0 {
		first, last := plan.Keep[0], plan.Keep[n-1]
		low, high := units.Celsius(1e9), units.Celsius(-1e9)
		for _, r := range plan.Keep {
			low, high = min(low, r.Temperature), max(high, r.Temperature)
		}
		add("first", readingTime(p, season, first))
		add("last", readingTime(p, season, last))
		add("low", p.Temp(low))
		add("high", p.Temp(high))
	}
	add("suspect", p.Count(plan.Suspect))
	add("refused", p.Count(len(res.Refused)))
	add("outside", p.Count(plan.Outside))
	k := res.Skipped
	if n := k.Blank + k.Comment + k.Event + k.OtherSeries + k.Duplicate; n > 0 {
		add("skipped", p.Count(n))
	}
	if res.Backward > 0 {
		add("backward", p.Count(res.Backward))
	}
	return out
}

func readingTime(p *i18n.Printer, season *logbook.Season, r logbook.Reading) string {
	if r.At.IsZero() {
		return p.Date(r.On)
	}
	return longWhen(p, season, r.At)
}

// refusedList is the beginning of a list of refused rows.
func refusedList(p *i18n.Printer, list []store.Refused) ImportRows {
	var out ImportRows
	for _, x := range list[:min(len(list), shownLines)] {
		out.Rows = append(out.Rows, ImportRow{Line: lineWords(p, x), Text: p.T(x.Key, x.Args), Raw: x.Text})
	}
	if more := len(list) - shownLines; more > 0 {
		out.More = p.T("import.more_lines", map[string]any{"Count": more})
	}
	return out
}

func lineWords(p *i18n.Printer, x store.Refused) string {
	if last := entries.LastLine(x); last != x.Line {
		return p.Count(x.Line) + "–" + p.Count(last)
	}
	return p.Count(x.Line)
}

// refusedRecords is the whole list as records of a CSV file.
func refusedRecords(p *i18n.Printer, list []store.Refused) [][]string {
	rows := [][]string{{"line", "last_line", "reason", "text"}}
	for _, x := range list {
		rows = append(rows, []string{fmt.Sprint(x.Line), fmt.Sprint(entries.LastLine(x)), p.T(x.Key, x.Args), x.Text})
	}
	return rows
}
