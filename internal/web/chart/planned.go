package chart

import (
	"github.com/go-echarts/go-echarts/v2/opts"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// planned calls take with each day of the season's setpoint plan that lies on the
// axis, and what the water should be then.
func (b *builder) planned(take func(civil.Date, units.Celsius)) {
	plan := b.Season.Plan
	if plan == nil {
		return
	}
	for i, t := range plan.Targets {
		if d := plan.MadeOn.AddDays(i); !d.Before(b.from) && !d.After(b.to) {
			take(d, t.Temperature)
		}
	}
}

// plannedSeries adds the line that the water follows by the setpoint plan.
func (b *builder) plannedSeries(p *plot) {
	var out []opts.LineData
	b.planned(func(d civil.Date, c units.Celsius) { out = append(out, opts.LineData{Value: point(d, b.temp(c))}) })
	if len(out) > 1 {
		p.lineOf("planned", b.t("chart.planned", nil), colSet, "dashed", out)
	}
}
