package chart

import (
	"fmt"

	"github.com/go-echarts/go-echarts/v2/opts"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// development is the figure of thermal units and development index: two charts,
// one above the other, each with its own values and the same days.
func (b *builder) development() (Figure, error) {
	f := Figure{Name: "development", Title: b.t("chart.development", nil)}
	r := b.Forecast
	if r == nil || !r.Ok() || len(r.Days) == 0 {
		return f, nil
	}
	f.Finding = b.developmentFinding()
	tu, tuUnit := func(d *forecast.Day) float64 { return units.Round(float64(d.ThermalUnits), 1) },
		b.t("unit.tu_c", nil)
	if b.P.Unit() == units.DegF {
		tu, tuUnit = func(d *forecast.Day) float64 { return units.Round(d.ThermalUnits.FahrenheitUnits(), 1) },
			b.t("unit.tu_f", nil)
	}
	index := func(d *forecast.Day) float64 { return units.Round(100*d.Index, 2) }
	for _, c := range []struct {
		chart  Chart
		of     func(*forecast.Day) float64
		levels []any
	}{
		{Chart{ID: "chart-units", Title: b.t("chart.units", logbook.Args{"Unit": tuUnit}), Low: true}, tu, nil},
		{Chart{ID: "chart-index", Title: b.t("chart.index", nil), Low: true, Unit: "%"}, index, b.levels()},
	} {
		ch := c.chart
		ch.Describe = b.developmentDescription(ch.Title, c.of, ch.Decimals)
		p := b.newPlot(ch.Describe, yRange{0, nil}, false)
		p.marks(b.windowAreas(), append(p.todayLine(), c.levels...), colWindow)
		past, ahead := b.states(c.of)
		p.lineOf("sum", b.t("chart.so_far", nil), colCheck, "solid", past)
		p.ends["sum"] = endLabel{before: true}
		if c.chart.ID == "chart-index" {
			p.band(b.paces())
		}
		if len(ahead) > 1 {
			p.lineOf("forecast", b.t("chart.forecast", nil), colCheck, "dashed", ahead)
			p.ends["forecast"] = endLabel{before: true}
		}
		var err error
		if ch.Option, err = p.option(); err != nil {
			return f, err
		}
		f.Charts = append(f.Charts, ch)
	}
	if len(b.windowAreas()) > 0 {
		f.Keys = []Key{{"window", b.t("chart.key_window", nil)}}
	}
	if r.EstimatedDays > 0 {
		f.Keys = append(f.Keys, Key{"estimated", b.t("chart.key_estimated", nil)})
	}
	f.Table = b.developmentTable(tu, tuUnit)
	return f, nil
}

// states are the days up to today and the days from today on. A day without a
// measured temperature has its own symbol.
func (b *builder) states(of func(*forecast.Day) float64) (past, ahead []opts.LineData) {
	for i := range b.Forecast.Days {
		d := &b.Forecast.Days[i]
		if d.On.After(b.to) {
			break
		}
		item := opts.LineData{Value: point(d.On, of(d))}
		if !d.On.Before(b.Forecast.Today) {
			ahead = append(ahead, item)
		}
		if !d.On.After(b.Forecast.Today) {
			if d.Estimated {
				item.Symbol, item.SymbolSize = symRing, 7
			}
			past = append(past, item)
		}
	}
	return past, ahead
}

// paces are the development on each shown day from today on, if the next event came
// at the early and at the late end of its window: the forecast at the pace that
// reaches it then. No event ahead, no band.
func (b *builder) paces() (days []civil.Date, low, high []float64) {
	r := b.Forecast
	var next *forecast.Window
	for _, e := range forecast.Events() {
		if w := r.Window(e); next == nil && w.Ok() && w.Observed.IsZero() && w.P10.After(r.Today) {
			next = w
		}
	}
	if next == nil {
		return nil, nil, nil
	}
	at := func(on civil.Date, end civil.Date) float64 { // on the forecast's own way there
		part := float64(on.Sub(r.Today)) * float64(next.P50.Sub(r.Today)) / float64(end.Sub(r.Today))
		whole := int(part)
		x, y := r.DayOn(r.Today.AddDays(whole)), r.DayOn(r.Today.AddDays(whole+1))
		if y == nil {
			return r.Days[len(r.Days)-1].Index
		}
		return x.Index + (y.Index-x.Index)*(part-float64(whole))
	}
	for d := r.Today; !d.After(b.to) && !d.After(next.P90); d = d.AddDays(1) {
		days = append(days, d)
		low, high = append(low, at(d, next.P90)), append(high, at(d, next.P10))
	}
	return days, low, high
}

// windowAreas are the windows that lie ahead or were seen.
func (b *builder) windowAreas() []any {
	var out []any
	for _, e := range forecast.Events() {
		w := b.Forecast.Window(e)
		if !w.Ok() || w.P90.Before(b.from) || w.P10.After(b.to) {
			continue
		}
		out = append(out, []any{
			map[string]any{"name": eventName(b.P, e), "xAxis": w.P10.String(),
				"label": map[string]any{"position": "insideBottomLeft"}},
			map[string]any{"xAxis": civil.Min(w.P90.AddDays(1), b.to).String()}}) // to the end of the day
	}
	return out
}

// levels are the values of the index at which half are eyed and half hatched.
func (b *builder) levels() []any {
	// At the left, away from the line that rises from below the first to the right.
	level := func(v float64, e forecast.Event, place string) any {
		return map[string]any{"name": eventName(b.P, e), "yAxis": v, "label": map[string]any{"position": place}}
	}
	return []any{level(50, forecast.Eyed, "insideStartBottom"), level(100, forecast.Hatch, "insideStartTop")}
}

func eventName(p *i18n.Printer, e forecast.Event) string { return p.T("tank.event." + string(e)) }

func (b *builder) developmentFinding() string {
	r := b.Forecast
	for _, e := range forecast.Events() {
		w := r.Window(e)
		if !w.Ok() || !w.Observed.IsZero() {
			continue
		}
		args := logbook.Args{"Index": b.P.Percent(r.Index), "Event": eventName(b.P, e), "From": b.dayMonth(w.P10),
			"To":     b.dayMonth(w.P90),
			"Middle": b.dayMonth(w.P50)}
		if w.P10 == w.P90 {
			return b.t("chart.development.day", args)
		}
		return b.t("chart.development.next", args)
	}
	return b.t("chart.development.past", logbook.Args{"Index": b.P.Percent(r.Index)})
}

func (b *builder) developmentDescription(title string, of func(*forecast.Day) float64, decimals int) string {
	days := b.Forecast.Days
	for len(days) > 1 && days[len(days)-1].On.After(b.to) {
		days = days[:len(days)-1]
	}
	today := b.Forecast.DayOn(b.Forecast.Today)
	return b.t("chart.describe_sum", logbook.Args{"Title": title, "From": days[0].On, "To": days[len(days)-1].On,
		"Start": b.P.Num(of(&days[0]), decimals), "Now": b.P.Num(of(today), decimals), "Today": today.On,
		"End": b.P.Num(of(&days[len(days)-1]), decimals), "Estimated": b.Forecast.EstimatedDays})
}

func (b *builder) developmentTable(tu func(*forecast.Day) float64, tuUnit string) Table {
	t := Table{Caption: b.t("chart.development", nil), Columns: []Column{
		{"date", b.t("chart.col.date", nil), false},
		{"temperature_c", b.t("chart.col.temperature", logbook.Args{"Unit": b.P.UnitSymbol()}), true},
		{"source", b.t("chart.col.source", nil), false},
		{"thermal_units", tuUnit, true}, {"development_index", b.t("chart.col.index", nil), true}}}
	for i := range b.Forecast.Days {
		d := &b.Forecast.Days[i]
		if d.On.After(b.to) {
			break
		}
		t.Rows = append(t.Rows, []Cell{b.dateCell(d.On), b.tempCell(d.Temperature.V, d.Temperature.OK),
			{b.t("chart.source."+string(d.Source), nil), string(d.Source)},
			{b.P.Num(tu(d), 0), fmt.Sprintf("%.1f", float64(d.ThermalUnits))},
			{b.P.Num(100*d.Index, 1), fmt.Sprintf("%.4f", d.Index)}})
	}
	return t
}
