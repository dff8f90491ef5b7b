package words

import (
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
)

func SampleGrowth(p *i18n.Printer, x report.SampleLine) string {
	g := x.Growth.V
	return p.T("sample.growth_range", logbook.Args{"Rate": p.Num(g.PerDay, 1), "Low": p.Num(g.Low, 1),
		"High": p.Num(g.High, 1), "Count": x.Days})
}
