package web

import (
	"slices"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/view"
)

// eventNeeds are the fields that a kind of event asks for beside day, time, note
// and group. Those in optionalFields may stay empty.
var eventNeeds = map[logbook.EventKind][]string{
	logbook.WaterChange:    {"litres"},
	logbook.SetpointChange: {"setpoint"},
	logbook.FirstFeed:      {"mean_g"},
	logbook.MovedIn:        {"count", "place"},
	logbook.MovedOut:       {"count", "place", "mean_g"},
	logbook.SampleTaken:    {"count", "mean_g"},
	logbook.PowerCut:       {"hours"},
	logbook.Counted:        {"count", "mean_g"},
	logbook.Released:       {"count", "place", "permit", "mean_g"},
}

var optionalFields = []string{"mean_g", "place", "permit", "hours"}

// eventCautions are the kinds that meet electricity, chemicals, water or permits.
var eventCautions = []logbook.EventKind{logbook.WaterChange, logbook.FilterRinse, logbook.SetpointChange, logbook.MovedIn, logbook.MovedOut,
	logbook.PowerCut, logbook.Treatment, logbook.Released}

// eventFields are the fields of an event in the order in which they are shown.
var eventFields = []string{"kind", "on", "time", "count", "litres", "setpoint", "hours", "mean_g", "place", "permit", "note", "observer"}

// eventModes are the keyboards of the number fields.
var eventModes = map[string]string{"count": "numeric", "litres": "decimal", "setpoint": "decimal", "hours": "decimal", "mean_g": "decimal"}

func knownKind(k logbook.EventKind) bool { return slices.Contains(logbook.EventKinds(), k) }

// readEvent reads a sent event form. Fields that its kind does not ask for are
// left out.
func readEvent(f *form, season *logbook.Season) logbook.Event {
	e := logbook.Event{SeasonID: season.ID, Kind: logbook.EventKind(f.text("kind")), On: readDay(f, "on"), Time: readTime(f, "time"),
		Note: readNote(f, "note"), Observer: f.text("observer")}
	for _, field := range eventNeeds[e.Kind] {
		switch field {
		case "count":
			e.Count = f.count(field)
		case "litres":
			e.Litres = optional[units.Litres](f, field)
		case "setpoint":
			e.Setpoint, _, _ = f.temperature(field, season.Site.TemperatureUnit)
		case "hours":
			e.Hours = f.number(field)
		case "mean_g":
			e.MeanG = optional[units.Grams](f, field)
		case "place":
			e.Place = f.text(field)
		case "permit":
			e.Permit = f.text(field)
		}
	}
	return e
}

// eventItems builds the fields of a form.
func eventItems(p *i18n.Printer, names []string, f *form) []view.FormItem {
	var out []view.FormItem
	for _, name := range names {
		it := view.FormItem{Field: view.Field{Name: name, Label: eventLabel(p, name), Value: f.raw(name), Mode: eventModes[name],
			Optional: slices.Contains(optionalFields, name) || !slices.Contains(eventFields[3:10], name)}}
		if it.Mode != "" || name == "time" {
			it.Width = "w-num"
		}
		switch name {
		case "note":
			it.Kind, it.Hint = view.AreaItem, p.T("check.hint.note")
		case "observer", "time":
			it.Hint = p.T("check.hint." + name)
		default:
			it.Hint = p.T("event.hint." + name)
		}
		out = append(out, it)
	}
	return out
}

func eventLabel(p *i18n.Printer, field string) string {
	return p.T("event.field."+field, map[string]any{"Unit": p.UnitSymbol()})
}

// eventValues are the values of the form that say what e says.
func eventValues(p *i18n.Printer, e *logbook.Event) map[string]string {
	setpoint := ""
	if t, ok := e.Setpoint.Get(); ok {
		setpoint = typed(p, units.Round(p.Unit().FromCelsius(t), 6))
	}
	return map[string]string{"kind": string(e.Kind), "on": e.On.String(), "time": e.Time, "count": typedCount(e.Count),
		"litres": typedOpt(p, e.Litres), "setpoint": setpoint, "hours": typedOpt(p, e.Hours), "mean_g": typedOpt(p, e.MeanG),
		"place": e.Place, "permit": e.Permit, "note": e.Note, "observer": e.Observer}
}

// eventText writes one field of an event for reading, "" when nothing was said.
func eventText(p *i18n.Printer, e *logbook.Event, field string) string {
	opt := func(ok bool, v any) string {
		if !ok {
			return ""
		}
		return p.Value(v)
	}
	switch field {
	case "kind":
		return word(p, e.Kind)
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
	case "note":
		return e.Note
	case "observer":
		return e.Observer
	}
	return ""
}

// eventLines writes what an event says, line by line.
func eventLines(p *i18n.Printer, e *logbook.Event) []view.EntryLine {
	var out []view.EntryLine
	for _, field := range eventFields {
		if text := eventText(p, e, field); text != "" {
			out = append(out, view.EntryLine{Field: field, Label: eventLabel(p, field), Value: text})
		}
	}
	return out
}
