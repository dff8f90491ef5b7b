package care

import (
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/web/ui"
)

// filter says what the food asks of filter and tank.
func (k *foodPage) filter() ui.CarePart {
	p := k.p
	part := ui.CarePart{ID: "filter", Title: p.T("food.filter")}
	if x := k.sheet; x.State == report.FeedOver || x.State == report.FeedNever || len(x.Loads) == 0 {
		return part
	}
	for i, l := range k.sheet.Loads {
		args := logbook.Args{"On": p.DayMonth(l.On), "Food": k.grams(l.Food), "Rise": l.Rise,
			"Density": p.Num(float64(l.Density)/1000, 2),
			"Area":    p.Num(l.Area, 2)}
		if l.Food > 0 && i == 0 {
			part.Lines = append(part.Lines, p.T("food.filter_load", args))
		} else if l.Food > 0 {
			part.Lines = append(part.Lines, p.T("food.filter_later", args))
		}
		if l.Area > 0 {
			part.Facts = append(part.Facts, ui.Fact{Label: p.T("food.filter_area", args), Value: args["Area"].(string) +
				"\u00a0m²"})
		}
		part.Facts = append(part.Facts, ui.Fact{Label: p.T("food.density", args),
			Value: p.T("food.density_value", args)})
		if l.Crowding.OK {
			key := "food.crowding_below"
			if l.Crowding.V > crowded {
				key = "food.crowding_above"
			}
			part.Facts = append(part.Facts, ui.Fact{Label: p.T("food.crowding", args),
				Value: p.T(key, logbook.Args{"Index": p.Num(l.Crowding.V, 2)})})
		}
	}
	if first := k.sheet.Loads[0].On; len(k.Season.Deliveries) > 0 {
		started := k.Season.StartedOn()
		if k.sheet.Began.IsZero() || k.Today.Sub(k.sheet.Began) < report.FilterDoubtDays {
			part.Lines = append(part.Lines, p.T("food.filter_age", logbook.Args{"Days": max(0, first.Sub(started))}))
			part.Steps = []string{p.T("food.filter_slow"), p.T("food.filter_test")}
		}
	}
	part.Sources = []string{p.T("food.source_filter")}
	return part
}

// crowded is the density index that trout raceways keep to (Piper et al. 1982, from
// memory).
const crowded = 0.5
