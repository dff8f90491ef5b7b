package words

import (
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/ui"
)

func EventWords(p *i18n.Printer, r *forecast.Result, w *forecast.Window) string {
	args := logbook.Args{"Event": ui.EventName(p, w.Event)}
	for name, d := range map[string]civil.Date{"Middle": w.P50, "From": w.P10, "To": w.P90, "First": w.First,
		"Last":  w.Last,
		"After": w.Observed.After, "Seen": w.Observed.OnOrBefore, "Begun": w.Begun} {
		args[name] = p.DayMonth(d)
	}
	switch {
	case !w.Observed.IsZero() && w.Observed.After.IsZero():
		return p.T("tank.forecast.seen_by", args)
	case !w.Observed.IsZero():
		return p.T("tank.forecast.seen", args)
	case w.BeforeStart:
		return p.T("tank.forecast.before", args)
	case r.Dying != nil && !w.P50.Before(r.Today):
		return p.T("tank.forecast.dying", args)
	case w.Never || !w.Ok():
		return p.T("tank.forecast.never", args)
	case w.P90.Before(r.Today):
		return p.T("tank.forecast.overdue", args)
	case !w.Begun.IsZero():
		return p.T("tank.forecast.begun", args)
	case w.P10.Before(r.Today):
		return p.T("tank.forecast.maybe", args)
	case !w.First.IsZero() && !w.Last.IsZero():
		return p.T("tank.forecast.expected_batch", args)
	}
	return p.T("tank.forecast.expected", args)
}
