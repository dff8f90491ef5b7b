package chart

import (
	"encoding/json"
	"fmt"
	"sort"
	"strconv"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// Colours are names that static/charts.js replaces from its palette.
const (
	colInk     = "@ink"
	colSoft    = "@soft"
	colGrid    = "@grid"
	colCheck   = "@check"
	colLogger  = "@logger"
	colRange   = "@range"
	colSet     = "@setpoint"
	colSafe    = "@safe"
	colSuspect = "@suspect"
	colWindow  = "@window"
	colDead    = "@dead"
)

// Symbols of the points. A late entry is a diamond and a corrected one a
// triangle, whatever the colour.
const (
	symCheck     = "circle"
	symLate      = "diamond"
	symCorrected = "triangle"
	symRing      = "path://M5 0A5 5 0 1 0 5 10A5 5 0 1 0 5 0ZM5 2.2A2.8 2.8 0 1 1 5 7.8A2.8 2.8 0 1 1 5 2.2Z"
	symSuspect   = "path://M0 2L2 0L5 3L8 0L10 2L7 5L10 8L8 10L5 7L2 10L0 8L3 5z"
)

const dayMillis = 24 * 60 * 60 * 1000

// point is a dated value; a nil value is a gap.
func point(d civil.Date, v any) [2]any { return [2]any{d.String(), v} }

// symbolOf is the symbol of a day's checks.
func symbolOf(d checkDay) (symbol string, size int) {
	switch {
	case d.corrected:
		return symCorrected, 10
	case d.late:
		return symLate, 11
	}
	return symCheck, 5
}

// plot collects the series of one chart.
type plot struct {
	b     *builder
	line  *charts.Line
	ends  map[string]endLabel       // by series id
	extra map[string]map[string]any // keys the library has no field for
}

// endLabel is where the name of a line stands beside its last point.
type endLabel struct {
	before bool // to the left of it and above, else to the right
	down   int  // moved by so many pixels
}

// yRange is the value axis; nil ends are left to the drawing.
type yRange struct{ min, max any }

func (b *builder) newPlot(describe string, y yRange, whole bool) *plot {
	l := charts.NewLine()
	minInterval := 0.0
	if whole {
		minInterval = 1
	}
	labels := &opts.AxisLabel{Color: colSoft}
	if y.max != nil { // the ends are no round values
		labels.ShowMaxLabel = opts.Bool(false)
		if y.min != nil && !whole {
			labels.ShowMinLabel = opts.Bool(false)
		}
	}
	thin := &opts.LineStyle{Color: colGrid, Width: 1}
	l.SetGlobalOptions(
		charts.WithAnimation(false),
		charts.WithGridOpts(opts.Grid{Left: "44", Right: strconv.Itoa(b.right()), Top: "18", Bottom: "30"}),
		charts.WithXAxisOpts(opts.XAxis{Type: "time", Min: b.from.String(), Max: b.to.String(), MinInterval: dayMillis,
			AxisLabel: &opts.AxisLabel{Color: colSoft, HideOverlap: opts.Bool(true), Margin: 13},
			AxisLine:  &opts.AxisLine{LineStyle: &opts.LineStyle{Color: colSoft}},
			SplitLine: &opts.SplitLine{Show: opts.Bool(false)}}),
		charts.WithYAxisOpts(opts.YAxis{Type: "value", Min: y.min, Max: y.max, Scale: opts.Bool(true), SplitNumber: 4,
			MinInterval: minInterval,
			AxisLabel:   labels, SplitLine: &opts.SplitLine{Show: opts.Bool(true), LineStyle: thin}}),
		charts.WithTooltipOpts(opts.Tooltip{Show: opts.Bool(true), Trigger: "axis"}),
		charts.WithAriaOpts(&opts.Aria{Enabled: opts.Bool(true), Label: &opts.AriaLabel{Enabled: opts.Bool(true),
			Description: describe},
			Decal: &opts.AriaDecal{Show: opts.Bool(false)}}),
	)
	return &plot{b: b, line: l, ends: map[string]endLabel{}, extra: map[string]map[string]any{}}
}

// lineOf adds a line with a label at its end. dash is an ECharts line type.
func (p *plot) lineOf(id, name, colour, dash string, data []opts.LineData, set ...charts.SeriesOpts) {
	p.line.AddSeries(name, data, append([]charts.SeriesOpts{
		charts.WithSeriesId(id),
		charts.WithLineChartOpts(opts.LineChart{ConnectNulls: opts.Bool(false), ShowSymbol: opts.Bool(true),
			Symbol: "none"}),
		charts.WithLineStyleOpts(opts.LineStyle{Color: colour, Type: dash, Width: 2}),
		charts.WithItemStyleOpts(opts.ItemStyle{Color: colour}),
	}, set...)...)
	p.ends[id] = endLabel{}
}

// points adds marks that no line joins.
func (p *plot) points(id, name, colour, symbol string, data []opts.ScatterData) {
	s := charts.NewScatter()
	s.AddSeries(name, data, charts.WithSeriesId(id),
		charts.WithScatterChartOpts(opts.ScatterChart{Symbol: symbol, SymbolSize: 9}),
		charts.WithItemStyleOpts(opts.ItemStyle{Color: colour}))
	p.line.Overlap(s)
}

// band fills the stretch between two lines of shares of 1, in percent.
func (p *plot) band(days []civil.Date, low, high []float64) {
	if len(days) < 2 {
		return
	}
	var from, span []opts.LineData
	for i, d := range days {
		from = append(from, opts.LineData{Value: point(d, units.Round(100*low[i], 2))})
		span = append(span, opts.LineData{Value: point(d, units.Round(100*(high[i]-low[i]), 2))})
	}
	p.stretch("range", from, span)
}

// stretch fills what lies between the line low and the one span above it.
func (p *plot) stretch(stack string, low, span []opts.LineData) {
	for _, s := range []struct {
		id   string
		data []opts.LineData
	}{{stack + "-low", low}, {stack + "-span", span}} {
		p.line.AddSeries("", s.data, charts.WithSeriesId(s.id),
			charts.WithLineChartOpts(opts.LineChart{Stack: stack, Symbol: "none", ConnectNulls: opts.Bool(false)}),
			charts.WithLineStyleOpts(opts.LineStyle{Opacity: opts.Float(0)}))
	}
	p.extra[stack+"-low"] = map[string]any{"silent": true}
	p.extra[stack+"-span"] = map[string]any{"silent": true, "areaStyle": map[string]any{"color": colRange,
		"opacity": 1}}
}

// marks adds a series without points that carries areas and lines.
func (p *plot) marks(areas, lines []any, colour string) {
	p.line.AddSeries("", []opts.LineData{}, charts.WithSeriesId("marks"),
		charts.WithSeriesOpts(func(s *charts.SingleSeries) {
			if len(areas) > 0 {
				s.MarkAreas = &opts.MarkAreas{Data: areas, MarkAreaStyle: opts.MarkAreaStyle{
					ItemStyle: &opts.ItemStyle{Color: colour},
					Label: &opts.Label{Show: opts.Bool(true), Color: colInk, Position: "insideTopLeft",
						FontSize: 11}}}
			}
			if len(lines) > 0 {
				s.MarkLines = &opts.MarkLines{Data: lines,
					MarkLineStyle: opts.MarkLineStyle{Symbol: []string{"none", "none"},
						Label:     &opts.Label{Show: opts.Bool(true), Color: colInk, Formatter: "{b}", FontSize: 11},
						LineStyle: &opts.LineStyle{Color: colSoft, Type: "dotted", Width: 1}}}
			}
		}))
}

// todayLine is the upright line at today, when the axis goes beyond it.
func (p *plot) todayLine() []any {
	if !p.b.Today.Before(p.b.to) {
		return nil
	}
	return []any{map[string]any{"name": p.b.t("chart.today", nil), "xAxis": p.b.Today.String(),
		"label": map[string]any{"position": "insideEndTop", "rotate": 0, "align": "left"}}}
}

// right is the free space at the right in pixels: enough for the names of the
// lines where they end near the edge. It is the same for all charts of a season.
func (b *builder) right() int {
	if whole := b.to.Sub(b.from); b.to.Sub(b.last())*10 < whole*3 {
		return 88
	}
	return 14
}

// spread moves the names of lines apart that end at nearly the same value. last
// holds the last values by series, low to high is the axis, and height about the
// height of the chart in pixels.
func (p *plot) spread(last map[string]float64, low, high float64) {
	const height, room = 270.0, 14.0
	ids := make([]string, 0, len(last))
	for id := range last {
		ids = append(ids, id)
	}
	sort.Slice(ids, func(i, j int) bool {
		return last[ids[i]] > last[ids[j]] || (last[ids[i]] == last[ids[j]] && ids[i] < ids[j])
	})
	y := func(id string) float64 { return (high - last[id]) / (high - low) * height }
	free, excess := -room, 0.0
	at := make([]float64, len(ids))
	for i, id := range ids {
		at[i] = max(y(id), free)
		free = at[i] + room
		excess = max(excess, at[i]-y(id))
	}
	for i, id := range ids {
		p.ends[id] = endLabel{down: int(at[i] - excess/2 - y(id))}
	}
}

// option finishes the chart as plain data.
func (p *plot) option() (map[string]any, error) {
	p.line.Validate()
	raw, err := json.Marshal(p.line.JSON())
	if err != nil {
		return nil, fmt.Errorf("chart option: %w", err)
	}
	var o map[string]any
	if err := json.Unmarshal(raw, &o); err != nil {
		return nil, fmt.Errorf("chart option: %w", err)
	}
	for _, k := range []string{"title", "legend", "toolbox", "color"} {
		delete(o, k)
	}
	o["textStyle"] = map[string]any{"color": colInk, "fontFamily": "system-ui, sans-serif"}
	if t, ok := o["tooltip"].(map[string]any); ok {
		// The HTML tooltip would need inline styles, which the policy of the
		// pages refuses.
		t["renderMode"], t["confine"] = "richText", true
		t["backgroundColor"], t["borderColor"] = "@sheet", colSoft
		t["textStyle"] = map[string]any{"color": colInk}
	}
	series, _ := o["series"].([]any)
	for _, item := range series {
		s, ok := item.(map[string]any)
		if !ok {
			continue
		}
		id, _ := s["id"].(string)
		if end, ok := p.ends[id]; ok {
			label := map[string]any{"show": true, "formatter": "{a}", "color": colInk, "fontSize": 11, "distance": 6,
				"offset": []int{0, end.down}}
			if end.before {
				label["align"], label["offset"], label["distance"] = "right", []int{-4, end.down - 11}, 0
			}
			s["endLabel"] = label
			s["emphasis"] = map[string]any{"disabled": true}
		}
		for k, v := range p.extra[id] {
			s[k] = v
		}
	}
	return o, nil
}
