package class

import (
	"strconv"
	"strings"

	"reddside/internal/classwork"
	"reddside/internal/i18n"
	"reddside/internal/units"
	"reddside/internal/web/ui"
)

// ClassChart is a line chart of some days, small enough to read by eye.
type ClassChart struct {
	Alt    string
	Grid   []ClassGrid
	Days   []ClassTick
	Months string
	Line   string // height of a line to compare with, or ""
	Lines  []string
	Dots   []ui.SparkDot
	Table  ui.DataTable
}

// ClassGrid is a line across the chart.
type ClassGrid struct {
	At, Text string
	Half     bool
}

// ClassTick is a place along the chart.
type ClassTick struct{ At, Text string }

// NewClassChart draws days in tenths of a degree; days between them that are
// missing are gaps. Line is the height of a line in tenths.
func NewClassChart(p *i18n.Printer, days []classwork.Day, line units.Optional[int]) ClassChart {
	low, high := days[0].Tenths, days[0].Tenths
	for _, d := range days {
		low, high = min(low, d.Tenths), max(high, d.Tenths)
	}
	low, high = floorTo(low-1, 10), -floorTo(-high-1, 10)
	y := func(t int) string { return ui.Num(196 - 180*float64(t-low)/float64(high-low)) }
	first, last := days[0].On, days[len(days)-1].On
	step := 400 / float64(max(1, last.Sub(first)))
	c := ClassChart{Months: p.T("tank.span", map[string]any{"From": p.DateShort(first), "To": p.DateShort(last)})}
	c.Alt = p.T("class.graph.alt", map[string]any{"From": p.DayMonth(first), "To": p.DayMonth(last),
		"Count": len(days)})
	every := 5
	if high-low > 60 {
		every = 10
	}
	for t := low; t <= high; t += every {
		g := ClassGrid{At: y(t), Half: t%10 != 0}
		if !g.Half {
			g.Text = p.Num(float64(t)/10, 0)
		}
		c.Grid = append(c.Grid, g)
	}
	if line.OK {
		c.Line = y(line.V)
	}
	var run []string
	for i, d := range days {
		x := ui.Num(60 + step*float64(d.On.Sub(first)))
		if i > 0 && d.On.Sub(days[i-1].On) > 1 {
			c.Lines, run = append(c.Lines, strings.Join(run, " ")), nil
		}
		run = append(run, x+","+y(d.Tenths))
		c.Dots = append(c.Dots, ui.SparkDot{X: x, Y: y(d.Tenths)})
		_, _, day := d.On.YMD()
		c.Days = append(c.Days, ClassTick{At: x, Text: strconv.Itoa(day)})
	}
	c.Lines = append(c.Lines, strings.Join(run, " "))
	return c
}

// floorTo is the multiple of step at or below v.
func floorTo(v, step int) int {
	if r := v % step; r < 0 {
		return v - r - step
	}
	return v - v%step
}
