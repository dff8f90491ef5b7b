package entry

import (
	"slices"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/web/form"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
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
	logbook.Treatment:      {"product", "purpose", "dose", "dose_unit", "minutes", "allowed_by", "days_before_release"},
	logbook.Counted:        {"count", "mean_g"},
	logbook.Released:       {"count", "place", "permit", "mean_g", "deviation_why"},
}

var optionalFields = []string{"mean_g", "place", "permit", "hours", "purpose", "dose", "dose_unit", "minutes",
	"allowed_by", "days_before_release", "deviation_why"}

// eventCautions are the kinds that meet electricity, chemicals, water or permits.
var eventCautions = []logbook.EventKind{logbook.WaterChange, logbook.FilterRinse, logbook.SetpointChange,
	logbook.MovedIn, logbook.MovedOut,
	logbook.PowerCut, logbook.Treatment, logbook.Released}

// eventModes are the keyboards of the number fields.
var eventModes = map[string]string{"count": "numeric", "litres": "decimal", "setpoint": "decimal", "hours": "decimal",
	"mean_g": "decimal",
	"dose":   "decimal", "minutes": "decimal", "days_before_release": "numeric"}

func knownKind(k logbook.EventKind) bool { return slices.Contains(logbook.EventKinds(), k) }

// readEvent reads a sent event form. Fields that its kind does not ask for are
// left out.
func readEvent(f *form.Form, season *logbook.Season) logbook.Event {
	e := logbook.Event{SeasonID: season.ID}
	asked := append([]string{"kind", "on", "time", "note", "observer"},
		eventNeeds[logbook.EventKind(f.Text("kind"))]...)
	fields := slices.DeleteFunc(slices.Clone(logbook.EventFields()), func(x logbook.Field[logbook.Event]) bool {
		return !slices.Contains(asked, x.Name)
	})
	form.ReadFields(f, fields, season.Site.TemperatureUnit, &e)
	return e
}

// eventItems builds the fields of a form.
func eventItems(p *i18n.Printer, names []string, f *form.Form) []ui.FormItem {
	var out []ui.FormItem
	for _, name := range names {
		it := ui.FormItem{Field: ui.Field{Name: name, Label: words.EventLabel(p, name), Value: f.Raw(name),
			Mode: eventModes[name],
			Optional: slices.Contains(optionalFields, name) ||
				!slices.Contains(eventNeeds[logbook.EventKind(f.Text("kind"))], name)}}
		if it.Mode != "" || name == "time" {
			it.Width = "w-num"
		}
		switch name {
		case "note":
			it.Kind, it.Hint = ui.AreaItem, p.T("check.hint.note")
		case "dose_unit":
			it.Kind = ui.SelectItem
			it.Options = append([]ui.Option{{Label: p.T("event_form.no_unit")}},
				words.KeyedOptions(p, logbook.DoseUnits())...)
		case "observer", "time":
			it.Hint = p.T("check.hint." + name)
		default:
			it.Hint = p.T("event.hint." + name)
		}
		out = append(out, it)
	}
	return out
}

// eventLines writes what an event says, line by line.
func eventLines(p *i18n.Printer, e *logbook.Event) []ui.EntryLine {
	var out []ui.EntryLine
	for _, field := range words.EventFields {
		if text := words.EventText(p, e, field); text != "" {
			out = append(out, ui.EntryLine{Field: field, Label: words.EventLabel(p, field), Value: text})
		}
	}
	if e.Deviations != "" {
		out = append(out, ui.EntryLine{Label: words.EventLabel(p, "deviations"), Value: words.Deviations(p, e.Deviations)})
	}
	return out
}
