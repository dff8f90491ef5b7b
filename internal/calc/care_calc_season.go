package calc

import (
	"reddside/internal/biology"
	"reddside/internal/i18n"
	"reddside/internal/stats"
	"reddside/internal/units"
	"reddside/internal/web/form"
)

type rationAnswer struct {
	Ration  units.Grams                       `json:"ration_g"`
	Percent float64                           `json:"feed_percent"`
	Low     units.Optional[units.Millimetres] `json:"particle_low_mm"` // null outside the table of particles
	High    units.Optional[units.Millimetres] `json:"particle_high_mm"`
	// Cautions belong beside the answer.
	Cautions []string `json:"cautions"`
}

// CalcRation answers calc/ration: the dry food of a day, by the feed table or by
// a share of the body weight that was given.
func CalcRation(q *form.Query, p *i18n.Printer) (any, map[string]string, error) {
	fish, weight := q.NeedWhole("fish", 1, stats.MaxAtRisk), units.Grams(q.Need("weight_g"))
	t, percent := q.Number("temperature_c"), q.Number("feed_percent")
	_, sentT := q.Values["temperature_c"]
	_, sentP := q.Values["feed_percent"]
	if sentT == sentP {
		q.Fail("temperature_c", "calc.temperature_or_percent", nil)
	}
	fields := map[string]string{"temperature": "temperature_c", "fish_weight": "weight_g"}
	if err := q.Done(); err != nil {
		return nil, fields, err
	}
	table, err := biology.NewFeedTable()
	if err != nil {
		return nil, fields, err
	}
	a := rationAnswer{Percent: percent.V, Cautions: []string{p.T("calc.ration_guide"), p.T("food.caution_rot"),
		p.T("food.caution_permit")}}
	if t.OK {
		if a.Percent, err = table.Guide(units.Celsius(t.V), weight); err != nil {
			return nil, fields, err
		}
	}
	if err := units.CheckRange("fish_weight", weight, biology.GrowthLowG, 10000, "g"); err != nil {
		return nil, fields, err
	}
	if a.Ration, err = biology.Ration(fish, weight, a.Percent); err != nil {
		return nil, fields, err
	}
	if x, err := table.ParticleSize(weight); err == nil { // a heavier fish has no size in the table
		a.Low, a.High = units.Some(x.Low), units.Some(x.High)
	}
	return a, fields, nil
}
