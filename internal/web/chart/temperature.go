package chart

import (
	"math"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// temperature is the figure of checks, logger, setpoint and the safe range.
func (b *builder) temperature() (Figure, error) {
	f := Figure{Name: "temperature", Title: b.t("chart.temperature", nil), Finding: b.temperatureFinding()}
	low, high, any := b.temperatureRange()
	if !any {
		return f, nil
	}
	c := Chart{ID: "chart-temperature", Title: b.t("chart.temperature_in", logbook.Args{"Unit": b.P.UnitSymbol()}),
		Unit:     b.P.UnitSymbol(),
		Decimals: 1, Describe: b.temperatureDescription()}
	p := b.newPlot(c.Describe, yRange{low, high}, false)
	p.marks(b.safeAreas(low, high), p.todayLine(), colSafe)
	b.loggerSeries(p)
	b.setpointSeries(p)
	b.plannedSeries(p)
	p.lineOf("checks", b.t("chart.checks", nil), colCheck, "solid", b.checkPoints(),
		charts.WithSeriesOpts(func(s *charts.SingleSeries) {
			s.Symbol, s.SymbolSize = symCheck, 5
		}))
	b.suspectSeries(p, low, high)
	p.spread(b.lastValues(), low, high)
	var err error
	c.Option, err = p.option()
	f.Charts = []Chart{c}
	f.Keys = b.entryKeys()
	for _, d := range b.days {
		if d.Suspects > 0 {
			f.Keys = append(f.Keys, Key{"suspect", b.t("chart.key_suspect", nil)})
			break
		}
	}
	f.Table = b.temperatureTable()
	return f, err
}

// entryKeys explains the symbols of late and corrected entries that occur.
func (b *builder) entryKeys() []Key {
	var late, corrected bool
	for _, d := range b.checks {
		late, corrected = late || d.late, corrected || d.corrected
	}
	var keys []Key
	if late {
		keys = append(keys, Key{"late", b.t("chart.late", nil)})
	}
	if corrected {
		keys = append(keys, Key{"corrected", b.t("chart.corrected", nil)})
	}
	return keys
}

// temperatureRange is the value axis in the reader's unit: whole degrees around
// everything that was measured or is wanted. Suspect readings do not stretch it.
func (b *builder) temperatureRange() (low, high float64, measured bool) {
	low, high = math.Inf(1), math.Inf(-1)
	take := func(c units.Celsius) { low, high = min(low, b.temp(c)), max(high, b.temp(c)) }
	for _, d := range b.checks {
		for _, t := range d.temps {
			take(t)
			measured = true
		}
	}
	for _, d := range b.days {
		if d.Good > 0 {
			take(d.Min)
			take(d.Max)
		}
		measured = true
	}
	for _, band := range b.Bands {
		if !band.From.After(b.last()) { // a range far ahead would flatten the lines
			take(band.Low)
			take(band.High)
		}
	}
	for d := b.from; !d.After(b.last()); d = d.AddDays(1) {
		if sp := b.Season.SetpointOn(d); sp.OK {
			take(sp.V)
		}
	}
	b.planned(func(_ civil.Date, c units.Celsius) { take(c) })
	if math.IsInf(low, 1) {
		return 0, 20, measured
	}
	return math.Floor(low - 0.5), math.Ceil(high + 0.5), measured
}

// lastValues are the values at which the lines end.
func (b *builder) lastValues() map[string]float64 {
	out := map[string]float64{}
	for _, d := range b.checks {
		if n := len(d.temps); n > 0 {
			out["checks"] = b.temp(d.temps[n-1])
		}
	}
	for _, d := range b.days {
		if d.Good > 0 {
			out["logger"] = b.temp(d.Mean)
		}
	}
	if sp := b.Season.SetpointOn(b.last()); sp.OK {
		out["setpoint"] = b.temp(sp.V)
	}
	return out
}

// safeAreas are the safe ranges, cut to the axis from low to high; the text
// names the whole range. That of the last of several stands at the right, where
// it has room.
func (b *builder) safeAreas(low, high float64) []any {
	var out []any
	for i, band := range b.Bands {
		if band.From.After(b.to) || band.To.Before(b.from) {
			continue
		}
		name := b.t("chart.safe", logbook.Args{"Low": b.P.TempNumber(band.Low), "High": b.P.Temp(band.High)})
		place := "insideTopLeft"
		if i > 0 && i == len(b.Bands)-1 {
			place = "insideTopRight"
		}
		out = append(out, []any{
			map[string]any{"name": name, "xAxis": civil.Max(band.From, b.from).String(),
				"yAxis": max(low, b.temp(band.Low)), "label": map[string]any{"position": place}},
			map[string]any{"xAxis": civil.Min(band.To.AddDays(1), b.to).String(),
				"yAxis": min(high, b.temp(band.High))}})
	}
	return out
}

// checkPoints are the temperatures of checks; a day without one is a gap.
func (b *builder) checkPoints() []opts.LineData {
	var out []opts.LineData
	next := civil.Date{}
	for _, d := range b.checks {
		if len(d.temps) == 0 {
			continue
		}
		for !next.IsZero() && next.Before(d.on) {
			out = append(out, opts.LineData{Value: point(next, nil)})
			next = next.AddDays(1)
		}
		next = d.on.AddDays(1)
		for _, t := range d.temps {
			item := opts.LineData{Value: point(d.on, b.temp(t))}
			if sym, size := symbolOf(d); sym != symCheck {
				item.Symbol, item.SymbolSize = sym, size
			}
			out = append(out, item)
		}
	}
	return out
}

// loggerSeries adds the daily mean and, as a filled stretch, lowest to highest.
func (b *builder) loggerSeries(p *plot) {
	var mean, low, span []opts.LineData
	next := civil.Date{}
	gap := func(d civil.Date) {
		mean = append(mean, opts.LineData{Value: point(d, nil)})
		low = append(low, opts.LineData{Value: point(d, nil)})
		span = append(span, opts.LineData{Value: point(d, nil)})
	}
	for _, d := range b.days {
		if d.Good == 0 {
			continue
		}
		for !next.IsZero() && next.Before(d.On) {
			gap(next)
			next = next.AddDays(1)
		}
		next = d.On.AddDays(1)
		mean = append(mean, opts.LineData{Value: point(d.On, b.temp(d.Mean))})
		low = append(low, opts.LineData{Value: point(d.On, b.temp(d.Min))})
		span = append(span, opts.LineData{Value: point(d.On, units.Round(b.temp(d.Max)-b.temp(d.Min), 2))})
	}
	if len(mean) == 0 {
		return
	}
	p.stretch("range", low, span)
	p.lineOf("logger", b.t("chart.logger", nil), colLogger, "dashed", mean)
}

// setpointSeries adds the setpoint of every day up to today as steps.
func (b *builder) setpointSeries(p *plot) {
	var out []opts.LineData
	some := false
	for d := civil.Max(b.from, b.Season.StartedOn()); !d.After(b.last()); d = d.AddDays(1) {
		var v any
		if sp := b.Season.SetpointOn(d); sp.OK {
			v, some = b.temp(sp.V), true
		}
		out = append(out, opts.LineData{Value: point(d, v)})
	}
	if some {
		p.lineOf("setpoint", b.t("chart.setpoint", nil), colSet, "dotted", out,
			charts.WithSeriesOpts(func(s *charts.SingleSeries) { s.Step = "end" }))
	}
}

// suspectSeries marks readings that are kept but not believed. One off the axis
// stands at its edge; the name holds its value.
func (b *builder) suspectSeries(p *plot, low, high float64) {
	var out []opts.ScatterData
	for _, d := range b.days {
		if d.Suspects > 0 {
			out = append(out, opts.ScatterData{Name: b.P.Temp(d.Suspect),
				Value: point(d.On, min(high, max(low, b.temp(d.Suspect))))})
		}
	}
	if len(out) > 0 {
		p.points("suspect", b.t("chart.suspect", nil), colSuspect, symSuspect, out)
	}
}
