package entry

import (
	"cmp"
	"slices"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/ui"
	"reddside/internal/web/words"
)

// sortCheckProblems puts problems in the order of the questions on the page, so
// that a child finds them from the top down. The time of day stands late there.
func sortCheckProblems(problems []logbook.Problem) {
	place := func(p logbook.Problem) int {
		switch i := slices.Index(words.CheckFields, p.Field); {
		case p.Field == "time":
			return slices.Index(words.CheckFields, "fed_g")
		case i < 0: // the reason of a correction is asked last
			return len(words.CheckFields)
		default:
			return i
		}
	}
	slices.SortStableFunc(problems, func(a, b logbook.Problem) int { return cmp.Compare(place(a), place(b)) })
}

// typedTemperature is what to show in the field: the text as it was typed, with
// its unit when that is not the one of the field.
func typedTemperature(p *i18n.Printer, c *logbook.Check, site units.TemperatureUnit) string {
	t, ok := c.Temperature.Get()
	if !ok {
		return ""
	}
	if s := c.TemperatureEntered; s != "" {
		// Read back in the field's unit it must be the stored value.
		if v, unit, key := logbook.ParseTemperature(s, site); key == "" && unit.ToCelsius(v) == t {
			return s
		}
		if c.TemperatureUnit == units.DegF {
			return s + " F"
		}
		return s + " C"
	}
	// Rounding takes away the noise of the conversion: 45.5 F is 7.5 C.
	return words.Typed(p, units.Round(site.FromCelsius(t), 6))
}

// checkValues are the values of the form that say what c says.
func checkValues(p *i18n.Printer, c *logbook.Check, site units.TemperatureUnit) map[string]string {
	return map[string]string{
		"on": c.On.String(), "slot": string(c.Slot), "time": c.Time, "temperature": typedTemperature(p, c, site),
		"chiller": string(c.Chiller), "filter": string(c.Filter), "air_pump": string(c.AirPump),
		"dead_eggs": words.TypedCount(c.DeadEggs), "dead_alevins": words.TypedCount(c.DeadAlevins), "dead_fry": words.TypedCount(c.DeadFry), "dead_cause": string(c.DeadCause),
		"stage": string(c.Stage), "hatched": string(c.Hatched), "water": string(c.Water), "fungus": string(c.Fungus),
		"ph": words.TypedOpt(p, c.PH), "tan_mg_l": words.TypedOpt(p, c.TAN), "nitrite_mg_l": words.TypedOpt(p, c.Nitrite),
		"nitrate_mg_l": words.TypedOpt(p, c.Nitrate), "oxygen_mg_l": words.TypedOpt(p, c.Oxygen), "chlorine_mg_l": words.TypedOpt(p, c.Chlorine), "alkalinity_mg_l": words.TypedOpt(p, c.Alkalinity), "fed_g": words.TypedOpt(p, c.Fed),
		"note": c.Note, "observer": c.Observer,
	}
}

// dayTiles are today and yesterday as choices.
func dayTiles(p *i18n.Printer, today civil.Date) []ui.Option {
	yesterday := today.AddDays(-1)
	return []ui.Option{
		{Value: today.String(), Label: p.T("check_form.day_today", map[string]any{"On": p.DateWeekday(today)})},
		{Value: yesterday.String(), Label: p.T("check_form.day_yesterday", map[string]any{"On": p.DateWeekday(yesterday)})},
	}
}
