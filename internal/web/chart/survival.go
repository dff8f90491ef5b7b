package chart

import (
	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"

	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/units"
)

// Survival is the figure of how many live: a step down at each day with deaths,
// between the lines of its interval. Where nobody is left there is no interval,
// and its lines have a gap.
func Survival(in Input, v report.Survival) (Figure, error) {
	b := newBuilder(in)
	f := Figure{Name: "survival", Title: b.t("survival.curve", nil)}
	if len(v.Curve) == 0 {
		return f, nil
	}
	start, end := b.Season.StartedOn(), b.last()
	last := v.Curve[len(v.Curve)-1]
	args := logbook.Args{"From": start, "To": end, "Percent": b.P.Num(100*last.Survival, 0), "Count": len(v.Curve)}
	f.Finding = b.t("survival.curve.finding", args)
	c := Chart{ID: "chart-survival", Title: b.t("survival.curve.axis", nil), Describe: b.t("survival.curve.describe",
		args), Unit: "%", Decimals: 1}
	low := 100.0
	mid, lower, upper := []opts.LineData{{Value: point(start, 100.0)}}, []opts.LineData{}, []opts.LineData{}
	for _, p := range v.Curve {
		mid = append(mid, opts.LineData{Value: point(p.On, percent(p.Survival))})
		a, z := any(nil), any(nil)
		if p.HasInterval {
			a, z = percent(p.Lower), percent(p.Upper)
			low = min(low, 100*p.Lower)
		} else {
			low = 0
		}
		lower, upper = append(lower, opts.LineData{Value: point(p.On, a)}),
			append(upper, opts.LineData{Value: point(p.On, z)})
	}
	if end.After(last.On) {
		ends := []any{percent(last.Survival), nil, nil}
		if last.HasInterval {
			ends[1], ends[2] = percent(last.Lower), percent(last.Upper)
		}
		mid = append(mid, opts.LineData{Value: point(end, ends[0])})
		lower, upper = append(lower, opts.LineData{Value: point(end, ends[1])}),
			append(upper, opts.LineData{Value: point(end, ends[2])})
	}
	bottom := max(0, 10*float64(int(low/10)))
	p := b.newPlot(c.Describe, yRange{bottom, 100.0}, false)
	p.marks(nil, p.todayLine(), colWindow)
	step := charts.WithLineChartOpts(opts.LineChart{ConnectNulls: opts.Bool(false), ShowSymbol: opts.Bool(true),
		Symbol: "none", Step: "end"})
	p.lineOf("alive", b.t("survival.curve.alive", nil), colCheck, "solid", mid, step)
	p.lineOf("lower", b.t("survival.curve.between", nil), colSoft, "dashed", lower, step)
	p.lineOf("upper", "", colSoft, "dashed", upper, step)
	p.spread(map[string]float64{"alive": 100 * last.Survival, "lower": 100 * last.Lower}, bottom, 100)
	delete(p.ends, "upper")
	var err error
	c.Option, err = p.option()
	f.Charts = []Chart{c}
	f.Table = b.survivalTable(v)
	return f, err
}

func percent(share float64) float64 { return units.Round(100*share, 2) }

func (b *builder) survivalTable(v report.Survival) Table {
	t := Table{Caption: b.t("survival.curve.axis", nil), Columns: []Column{
		{"date", b.t("chart.col.date", nil), false}, {"alive_before", b.t("survival.col.before", nil), true},
		{"dead", b.t("chart.col.dead", nil), true}, {"survival_percent", b.t("survival.col.alive", nil), true},
		{"lower_percent", b.t("survival.col.lower", nil), true}, {"upper_percent", b.t("survival.col.upper", nil),
			true}}}
	cell := func(share float64, ok bool) Cell {
		if !ok {
			return Cell{}
		}
		return Cell{b.P.Num(100*share, 1), b.P.Num(100*share, 1)}
	}
	for _, p := range v.Curve {
		t.Rows = append(t.Rows, []Cell{b.dateCell(p.On), countCell(b.P, p.AtRisk, true), countCell(b.P, p.Dead, true),
			cell(p.Survival, true), cell(p.Lower, p.HasInterval), cell(p.Upper, p.HasInterval)})
	}
	return t
}
