package words

import (
	"reddside/internal/i18n"
	"reddside/internal/logbook"
)

// EventFields are the fields of an event in the order in which they are shown.
var EventFields = []string{"kind", "on", "time", "count", "litres", "setpoint", "hours", "mean_g", "place", "permit", "product", "purpose", "dose", "dose_unit", "minutes", "allowed_by", "days_before_release", "note", "observer"}

func EventLabel(p *i18n.Printer, field string) string {
	return p.T("event.field."+field, map[string]any{"Unit": p.UnitSymbol()})
}

// EventText writes one field of an event for reading, "" when nothing was said.
func EventText(p *i18n.Printer, e *logbook.Event, field string) string {
	opt := func(ok bool, v any) string {
		if !ok {
			return ""
		}
		return p.Value(v)
	}
	switch field {
	case "kind":
		return Word(p, e.Kind)
	case "on":
		return p.DateWeekday(e.On)
	case "time":
		return e.Time
	case "count":
		return opt(e.Count.OK, e.Count.V)
	case "litres":
		return opt(e.Litres.OK, e.Litres.V)
	case "setpoint":
		return opt(e.Setpoint.OK, e.Setpoint.V)
	case "hours":
		return opt(e.Hours.OK, e.Hours.V)
	case "mean_g":
		return opt(e.MeanG.OK, e.MeanG.V)
	case "place":
		return e.Place
	case "permit":
		return e.Permit
	case "product":
		return e.Treated.Product
	case "purpose":
		return e.Treated.Purpose
	case "dose":
		return opt(e.Treated.Dose.OK, e.Treated.Dose.V)
	case "dose_unit":
		return Word(p, e.Treated.DoseUnit)
	case "minutes":
		return opt(e.Treated.Minutes.OK, e.Treated.Minutes.V)
	case "allowed_by":
		return e.Treated.AllowedBy
	case "days_before_release":
		return opt(e.Treated.DaysBeforeRelease.OK, e.Treated.DaysBeforeRelease.V)
	case "note":
		return e.Note
	case "observer":
		return e.Observer
	}
	return ""
}
