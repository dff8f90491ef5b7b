// Package chart turns a season into chart options and the table of the same
// numbers. It writes no markup and no script: an option is data, drawn by one
// static script that also brings colours, date names and number formats.
package chart

import (
	"encoding/json"
	"fmt"
	"time"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// Input is what the charts of a season are drawn from.
type Input struct {
	Season   *logbook.Season
	Today    civil.Date
	Forecast *forecast.Result
	Bands    []Band // safe temperature by stage, in order
	Ahead    int    // days shown beyond today; 0 for the whole forecast
	P        *i18n.Printer
}

// Band is the safe temperature over some days.
type Band struct {
	From, To  civil.Date
	Low, High units.Celsius
}

// Figure is one or more charts on the same days, what they show in a sentence,
// and the numbers they are drawn from.
type Figure struct {
	Name    string // "temperature", "development", "dead"
	Title   string
	Finding string
	Charts  []Chart
	Keys    []Key // symbols that need a word
	Table   Table
}

// Chart is one drawing.
type Chart struct {
	ID       string
	Title    string // above it, with the unit
	Option   map[string]any
	Describe string // for who cannot see it
	Unit     string // after a number in a tooltip
	Decimals int
	Low      bool // a low chart
}

// Key explains a symbol; Shape is the name of a drawing of the view.
type Key struct{ Shape, Text string }

// Table holds the numbers of a figure.
type Table struct {
	Caption string
	Columns []Column
	Rows    [][]Cell
}

// Column is a column of a table. Name is its name in CSV, with its unit.
type Column struct {
	Name, Label string
	Number      bool
}

// Cell is a value as the reader sees it and as CSV has it.
type Cell struct{ Text, Raw string }

// Figures are all figures of a season, on the same axis of days.
func Figures(in Input) ([]Figure, error) {
	b := newBuilder(in)
	var out []Figure
	for _, build := range []func() (Figure, error){b.temperature, b.development, b.dead} {
		f, err := build()
		if err != nil {
			return nil, err
		}
		if len(f.Charts) > 0 {
			out = append(out, f)
		}
	}
	return out, nil
}

// builder holds what the figures share.
type builder struct {
	Input
	loc      *time.Location
	from, to civil.Date // of every time axis
	days     []Day
	checks   []checkDay
}

// checkDay is the checks of one day.
type checkDay struct {
	on              civil.Date
	temps           []units.Celsius
	dead            units.Optional[int]
	late, corrected bool
}

func newBuilder(in Input) *builder {
	b := &builder{Input: in, loc: in.Season.Site.Location(), days: Daily(in.Season.Readings)}
	for i := range in.Season.Checks {
		b.add(&in.Season.Checks[i])
	}
	b.axis()
	return b
}

func (b *builder) add(c *logbook.Check) {
	if n := len(b.checks); n == 0 || b.checks[n-1].on != c.On {
		b.checks = append(b.checks, checkDay{on: c.On})
	}
	d := &b.checks[len(b.checks)-1]
	if c.Temperature.OK {
		d.temps = append(d.temps, c.Temperature.V)
	}
	if n, counted := c.Dead(); counted {
		d.dead = units.Some(d.dead.V + n)
	}
	d.late = d.late || c.Late(b.loc)
	d.corrected = d.corrected || c.Corrected()
}

// axis finds the days that every chart of the season covers.
func (b *builder) axis() {
	s := b.Season
	b.from, b.to = s.StartedOn(), b.Today
	if b.from.IsZero() {
		b.from = b.Today.AddDays(-1)
	}
	if len(b.days) > 0 {
		b.from = civil.Min(b.from, b.days[0].On)
		b.to = civil.Max(b.to, b.days[len(b.days)-1].On)
	}
	if f := b.Forecast; f != nil && f.Ok() && len(f.Days) > 0 {
		b.from = civil.Min(b.from, f.StartOn)
		b.to = civil.Max(b.to, f.Days[len(f.Days)-1].On)
	}
	if b.Ahead > 0 {
		b.to = civil.Min(b.to, b.Today.AddDays(b.Ahead))
	}
	if !s.ClosedOn.IsZero() && s.ClosedOn.Before(b.Today) {
		b.to = s.ClosedOn
		if n := len(b.checks); n > 0 {
			b.to = civil.Max(b.to, b.checks[n-1].on)
		}
	}
	if b.to.Sub(b.from) < 7 {
		b.to = b.from.AddDays(7)
	}
}

// last is the last day that is not ahead.
func (b *builder) last() civil.Date { return civil.Min(b.Today, b.to) }

func (b *builder) t(key string, args logbook.Args) string { return b.P.T(key, args) }

// dayMonth writes a day with the whole name of its month, for sentences.
func (b *builder) dayMonth(d civil.Date) string {
	return b.P.DayMonth(d)
}

// temp is a temperature in the reader's unit.
func (b *builder) temp(c units.Celsius) float64 { return units.Round(b.P.Unit().FromCelsius(c), 2) }

// marks writes what is special about the entries of a day.
func (b *builder) marks(d checkDay) string {
	switch {
	case d.late && d.corrected:
		return b.t("chart.late_corrected", nil)
	case d.late:
		return b.t("chart.late", nil)
	case d.corrected:
		return b.t("chart.corrected", nil)
	}
	return ""
}

// tempCell is a temperature to two decimals, or empty.
func (b *builder) tempCell(c units.Celsius, ok bool) Cell {
	if !ok {
		return Cell{}
	}
	return Cell{b.P.Num(b.P.Unit().FromCelsius(c), 1), fmt.Sprintf("%.2f", float64(c))}
}

func (b *builder) dateCell(d civil.Date) Cell { return Cell{b.P.DateShort(d), d.String()} }

func countCell(p *i18n.Printer, n int, ok bool) Cell {
	if !ok {
		return Cell{}
	}
	return Cell{p.Count(n), fmt.Sprint(n)}
}

// JSON writes an option as it stands in a page; < is escaped.
func (c Chart) JSON() ([]byte, error) { return json.Marshal(c.Option) }
