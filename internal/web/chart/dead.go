package chart

import (
	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// dead is the figure of dead counts. A counted 0 is a ring on the line; a day on
// which nobody counted is empty.
func (b *builder) dead() (Figure, error) {
	f := Figure{Name: "dead", Title: b.t("chart.dead", nil)}
	var bars []opts.BarData
	var rings []opts.ScatterData
	total, week, days, most := 0, 0, 0, 0
	counts := map[civil.Date]checkDay{}
	for _, d := range b.checks {
		counts[d.on] = d
	}
	if len(b.checks) == 0 {
		return f, nil
	}
	var lastOn civil.Date
	for d := civil.Max(b.from, b.Season.StartedOn()); !d.After(b.last()); d = d.AddDays(1) {
		c := counts[d]
		n, ok := c.dead.Get()
		if !ok {
			bars = append(bars, opts.BarData{Value: point(d, nil)})
			continue
		}
		bars = append(bars, opts.BarData{Value: point(d, n)})
		total, days, most, lastOn = total+n, days+1, max(most, n), d
		if b.Today.Sub(d) < 7 {
			week += n
		}
		if mark, ok := deadMark(c, n); ok {
			mark.Value = point(d, n)
			rings = append(rings, mark)
		}
	}
	args := logbook.Args{"Count": total, "Days": days, "Week": week, "Most": most, "From": b.from, "To": b.last(),
		"LastOn": lastOn,
		"Gaps":   max(0, len(bars)-days)}
	if days == 0 {
		return f, nil
	}
	f.Finding = b.t("chart.dead.finding", args)
	c := Chart{ID: "chart-dead", Title: b.t("chart.dead_in", nil), Describe: b.t("chart.dead.describe", args),
		Low: true}
	p := b.newPlot(c.Describe, yRange{0, (most/4 + 1) * 4}, true)
	p.marks(nil, p.todayLine(), colWindow)
	bar := charts.NewBar()
	bar.AddSeries(b.t("chart.dead", nil), bars, charts.WithSeriesId("dead"),
		charts.WithItemStyleOpts(opts.ItemStyle{Color: colDead}),
		charts.WithSeriesOpts(func(s *charts.SingleSeries) { s.BarMaxWidth, s.BarMinWidth = "9", "2" }))
	p.line.Overlap(bar)
	p.points("counted", "", colInk, symRing, rings)
	p.extra["counted"] = map[string]any{"symbolSize": 6, "clip": false}
	var err error
	c.Option, err = p.option()
	f.Charts = []Chart{c}
	f.Keys = append([]Key{{"zero", b.t("chart.key_zero", nil)}}, b.entryKeys()...)
	f.Table = b.deadTable(counts)
	return f, err
}

// deadMark is the mark on a day's bar: late or corrected, or a ring for none.
func deadMark(d checkDay, n int) (opts.ScatterData, bool) {
	sym, size := symbolOf(d)
	switch {
	case sym != symCheck:
		return opts.ScatterData{Symbol: sym, SymbolSize: size}, true
	case n == 0:
		return opts.ScatterData{}, true
	}
	return opts.ScatterData{}, false
}

func (b *builder) deadTable(counts map[civil.Date]checkDay) Table {
	t := Table{Caption: b.t("chart.dead_in", nil), Columns: []Column{
		{"date", b.t("chart.col.date", nil), false}, {"dead_eggs", b.t("chart.col.eggs", nil), true},
		{"dead_alevins", b.t("chart.col.alevins", nil), true}, {"dead_fry", b.t("chart.col.fry", nil), true},
		{"dead", b.t("chart.col.dead", nil), true}, {"marks", b.t("chart.col.marks", nil), false}}}
	type stages struct{ eggs, alevins, fry units.Optional[int] }
	by := map[civil.Date]stages{}
	join := func(a, c units.Optional[int]) units.Optional[int] {
		if !c.OK {
			return a
		}
		return units.Some(a.V + c.V)
	}
	for i := range b.Season.Checks {
		c := &b.Season.Checks[i]
		s := by[c.On]
		by[c.On] = stages{join(s.eggs, c.DeadEggs), join(s.alevins, c.DeadAlevins), join(s.fry, c.DeadFry)}
	}
	for d := civil.Max(b.from, b.Season.StartedOn()); !d.After(b.last()); d = d.AddDays(1) {
		c, s := counts[d], by[d]
		t.Rows = append(t.Rows, []Cell{b.dateCell(d), countCell(b.P, s.eggs.V, s.eggs.OK),
			countCell(b.P, s.alevins.V, s.alevins.OK),
			countCell(b.P, s.fry.V, s.fry.OK), countCell(b.P, c.dead.V, c.dead.OK), {b.marks(c), markNames(c)}})
	}
	return t
}
