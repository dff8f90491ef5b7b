package web

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/web/view"
)

// checkFields are the fields of a check in the order in which they are shown.
var checkFields = []string{"on", "slot", "time", "temperature", "chiller", "filter", "air_pump", "dead_eggs", "dead_alevins", "dead_fry", "dead_cause",
	"stage", "hatched", "water", "fungus", "ph", "tan_mg_l", "nitrite_mg_l", "nitrate_mg_l", "oxygen_mg_l", "chlorine_mg_l", "alkalinity_mg_l", "fed_g", "note", "observer"}

// sortCheckProblems puts problems in the order of the questions on the page, so
// that a child finds them from the top down. The time of day stands late there.
func sortCheckProblems(problems []logbook.Problem) {
	place := func(p logbook.Problem) int {
		switch i := slices.Index(checkFields, p.Field); {
		case p.Field == "time":
			return slices.Index(checkFields, "fed_g")
		case i < 0: // the reason of a correction is asked last
			return len(checkFields)
		default:
			return i
		}
	}
	slices.SortStableFunc(problems, func(a, b logbook.Problem) int { return cmp.Compare(place(a), place(b)) })
}

// typed writes a number so that it reads back as the same number.
func typed(p *i18n.Printer, v float64) string {
	return strings.Replace(strconv.FormatFloat(v, 'f', -1, 64), ".", p.T("format.decimal"), 1)
}

func typedOpt[T ~float64](p *i18n.Printer, o units.Optional[T]) string {
	if !o.OK {
		return ""
	}
	return typed(p, float64(o.V))
}

func typedCount(o units.Optional[int]) string {
	if !o.OK {
		return ""
	}
	return strconv.Itoa(o.V)
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
	return typed(p, units.Round(site.FromCelsius(t), 6))
}

// checkValues are the values of the form that say what c says.
func checkValues(p *i18n.Printer, c *logbook.Check, site units.TemperatureUnit) map[string]string {
	return map[string]string{
		"on": c.On.String(), "slot": string(c.Slot), "time": c.Time, "temperature": typedTemperature(p, c, site),
		"chiller": string(c.Chiller), "filter": string(c.Filter), "air_pump": string(c.AirPump),
		"dead_eggs": typedCount(c.DeadEggs), "dead_alevins": typedCount(c.DeadAlevins), "dead_fry": typedCount(c.DeadFry), "dead_cause": string(c.DeadCause),
		"stage": string(c.Stage), "hatched": string(c.Hatched), "water": string(c.Water), "fungus": string(c.Fungus),
		"ph": typedOpt(p, c.PH), "tan_mg_l": typedOpt(p, c.TAN), "nitrite_mg_l": typedOpt(p, c.Nitrite),
		"nitrate_mg_l": typedOpt(p, c.Nitrate), "oxygen_mg_l": typedOpt(p, c.Oxygen), "chlorine_mg_l": typedOpt(p, c.Chlorine), "alkalinity_mg_l": typedOpt(p, c.Alkalinity), "fed_g": typedOpt(p, c.Fed),
		"note": c.Note, "observer": c.Observer,
	}
}

// checkText writes one field of a check for reading, "" when nothing was said.
func checkText(p *i18n.Printer, c *logbook.Check, field string) string {
	num := func(v float64, ok bool, unit string) string {
		if !ok {
			return ""
		}
		return typed(p, v) + unit
	}
	switch field {
	case "on":
		return p.DateWeekday(c.On)
	case "slot":
		return word(p, c.Slot)
	case "time":
		return c.Time
	case "temperature":
		return temperatureText(p, c)
	case "chiller":
		return word(p, c.Chiller)
	case "filter":
		return word(p, c.Filter)
	case "air_pump":
		return word(p, c.AirPump)
	case "dead_eggs":
		return typedCount(c.DeadEggs)
	case "dead_alevins":
		return typedCount(c.DeadAlevins)
	case "dead_fry":
		return typedCount(c.DeadFry)
	case "dead_cause":
		return word(p, c.DeadCause)
	case "stage":
		return word(p, c.Stage)
	case "hatched":
		return word(p, c.Hatched)
	case "water":
		return word(p, c.Water)
	case "fungus":
		return word(p, c.Fungus)
	case "ph":
		return num(c.PH.V, c.PH.OK, "")
	case "tan_mg_l":
		return num(float64(c.TAN.V), c.TAN.OK, mgPerL)
	case "nitrite_mg_l":
		return num(float64(c.Nitrite.V), c.Nitrite.OK, mgPerL)
	case "chlorine_mg_l":
		return num(float64(c.Chlorine.V), c.Chlorine.OK, mgPerL)
	case "alkalinity_mg_l":
		return num(float64(c.Alkalinity.V), c.Alkalinity.OK, mgPerL)
	case "nitrate_mg_l":
		return num(float64(c.Nitrate.V), c.Nitrate.OK, mgPerL)
	case "oxygen_mg_l":
		return num(float64(c.Oxygen.V), c.Oxygen.OK, mgPerL)
	case "fed_g":
		return num(float64(c.Fed.V), c.Fed.OK, "\u00a0g")
	case "note":
		return c.Note
	case "observer":
		return c.Observer
	}
	return ""
}

const mgPerL = "\u00a0mg/L"

// temperatureText writes the temperature in the reader's unit and, when it was
// typed in the other one, also as typed.
func temperatureText(p *i18n.Printer, c *logbook.Check) string {
	t, ok := c.Temperature.Get()
	if !ok {
		return ""
	}
	if c.TemperatureEntered != "" && c.TemperatureUnit != p.Unit() {
		return p.T("check_page.typed", map[string]any{"Value": t, "Typed": c.TemperatureEntered, "Unit": c.TemperatureUnit})
	}
	return p.Temp(t)
}

// word writes a choice, "" for none.
func word[T interface {
	~string
	MessageKey() string
}](p *i18n.Printer, v T) string {
	if v == "" {
		return ""
	}
	return p.T(v.MessageKey())
}

// dayTiles are today and yesterday as choices.
func dayTiles(p *i18n.Printer, today civil.Date) []view.Option {
	yesterday := today.AddDays(-1)
	return []view.Option{
		{Value: today.String(), Label: p.T("check_form.day_today", map[string]any{"On": p.DateWeekday(today)})},
		{Value: yesterday.String(), Label: p.T("check_form.day_yesterday", map[string]any{"On": p.DateWeekday(yesterday)})},
	}
}
