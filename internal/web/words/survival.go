package words

import (
	"math"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/report"
	"reddside/internal/web/ui"
)

// HundredOf shows a survival as a hundred dots with what they say.
func HundredOf(p *i18n.Printer, v report.Survival) ui.Hundred {
	alive := v.Hundred.Alive
	return ui.Hundred{Words: survivalWords(p, v), Dots: ui.HundredDots(alive),
		Alt: p.T("survival.dots", logbook.Args{"Alive": alive, "Dead": 100 - alive}),
		Keys: []ui.ChartKey{{Shape: "alive", Text: p.T("survival.key.alive")},
			{Shape: "dead", Text: p.T("survival.key.dead")}}}
}

// InHundred writes a share as a number in a hundred, to one decimal when the
// whole numbers would say nothing.
func InHundred(p *i18n.Printer, share float64) string { return p.Num(100*share, 1) }

func survivalWords(p *i18n.Printer, v report.Survival) []string {
	args := logbook.Args{"Alive": v.Left, "Of": v.Start, "Hundred": v.Hundred.Alive, "Lower": v.Hundred.Lower,
		"Upper": v.Hundred.Upper}
	key := "survival.words.count"
	if v.Season.Method == report.ByKaplanMeier {
		key = "survival.words.removed"
	}
	out := []string{p.T(key, args)}
	if v.Dead == 0 && v.Unexplained == 0 {
		// About 3 in n, rounded up: the rule of three.
		return append(out, p.T("survival.words.zero",
			logbook.Args{"Of": v.Start, "Percent": p.Num(math.Ceil(math.Min(100, 300/float64(v.Start))), 0)}))
	}
	return append(out, p.T("survival.words.range", args))
}
