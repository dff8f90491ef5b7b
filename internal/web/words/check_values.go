package words

import (
	"strconv"
	"strings"

	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// CheckFields are the fields of a check in the order in which they are shown.
var CheckFields = []string{"on", "slot", "time", "temperature", "chiller", "filter", "air_pump", "dead_eggs", "dead_alevins", "dead_fry", "dead_cause",
	"stage", "hatched", "water", "fungus", "ph", "tan_mg_l", "nitrite_mg_l", "nitrate_mg_l", "oxygen_mg_l", "chlorine_mg_l", "alkalinity_mg_l", "fed_g", "note", "observer"}

// Typed writes a number so that it reads back as the same number.
func Typed(p *i18n.Printer, v float64) string {
	return strings.Replace(strconv.FormatFloat(v, 'f', -1, 64), ".", p.T("format.decimal"), 1)
}

func TypedOpt[T ~float64](p *i18n.Printer, o units.Optional[T]) string {
	if !o.OK {
		return ""
	}
	return Typed(p, float64(o.V))
}

func TypedCount(o units.Optional[int]) string {
	if !o.OK {
		return ""
	}
	return strconv.Itoa(o.V)
}

// CheckText writes one field of a check for reading, "" when nothing was said.
func CheckText(p *i18n.Printer, c *logbook.Check, field string) string {
	num := func(v float64, ok bool, unit string) string {
		if !ok {
			return ""
		}
		return Typed(p, v) + unit
	}
	switch field {
	case "on":
		return p.DateWeekday(c.On)
	case "slot":
		return Word(p, c.Slot)
	case "time":
		return c.Time
	case "temperature":
		return TemperatureText(p, c)
	case "chiller":
		return Word(p, c.Chiller)
	case "filter":
		return Word(p, c.Filter)
	case "air_pump":
		return Word(p, c.AirPump)
	case "dead_eggs":
		return TypedCount(c.DeadEggs)
	case "dead_alevins":
		return TypedCount(c.DeadAlevins)
	case "dead_fry":
		return TypedCount(c.DeadFry)
	case "dead_cause":
		return Word(p, c.DeadCause)
	case "stage":
		return Word(p, c.Stage)
	case "hatched":
		return Word(p, c.Hatched)
	case "water":
		return Word(p, c.Water)
	case "fungus":
		return Word(p, c.Fungus)
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

// TemperatureText writes the temperature in the reader's unit and, when it was
// typed in the other one, also as typed.
func TemperatureText(p *i18n.Printer, c *logbook.Check) string {
	t, ok := c.Temperature.Get()
	if !ok {
		return ""
	}
	if c.TemperatureEntered != "" && c.TemperatureUnit != p.Unit() {
		return p.T("check_page.typed", map[string]any{"Value": t, "Typed": c.TemperatureEntered, "Unit": c.TemperatureUnit})
	}
	return p.Temp(t)
}

// Word writes a choice, "" for none.
func Word[T interface {
	~string
	MessageKey() string
}](p *i18n.Printer, v T) string {
	if v == "" {
		return ""
	}
	return p.T(v.MessageKey())
}
