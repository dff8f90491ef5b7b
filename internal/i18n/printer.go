package i18n

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	goi18n "github.com/nicksnyder/go-i18n/v2/i18n"

	"reddside/internal/civil"
	"reddside/internal/units"
)

// Keyed is a value that has a text of its own in the catalogue.
type Keyed interface{ MessageKey() string }

// nbsp keeps a number and its unit on one line.
const nbsp = "\u00a0"

// Printer writes messages, numbers, dates and temperatures for one reader. It is
// safe for concurrent use.
type Printer struct {
	cat            *Catalogue
	lang           string
	unit           units.TemperatureUnit
	plain          map[string]string
	loc            *goi18n.Localizer
	decimal, group string
}

// Lang returns the language, as a BCP 47 tag.
func (p *Printer) Lang() string { return p.lang }

// Unit returns the temperature unit that the reader sees.
func (p *Printer) Unit() units.TemperatureUnit { return p.unit }

// In returns the same printer with another temperature unit.
func (p *Printer) In(unit units.TemperatureUnit) *Printer {
	q := *p
	q.unit = unit
	return &q
}

// T returns the text of a key. args may be one map of arguments; its typed
// values are written in the reader's language and units, and an int named Count
// chooses the plural form. A missing key shows itself in brackets.
func (p *Printer) T(key string, args ...map[string]any) string {
	if text := p.plain[key]; text != "" {
		return text
	}
	cfg := goi18n.LocalizeConfig{MessageID: key}
	if len(args) > 0 && args[0] != nil {
		data := make(map[string]any, len(args[0]))
		for k, v := range args[0] {
			data[k] = p.Value(v)
		}
		if n, ok := args[0]["Count"].(int); ok {
			cfg.PluralCount = n
		}
		cfg.TemplateData = data
	}
	text, err := p.loc.Localize(&cfg)
	if err != nil && text == "" {
		return "[" + key + "]"
	}
	return text
}

// Value writes one typed value.
func (p *Printer) Value(v any) string {
	switch x := v.(type) {
	case string:
		return x
	case Daily:
		return p.daily(x)
	case Keyed:
		return p.T(x.MessageKey())
	case units.TemperatureUnit:
		return unitSymbol(x)
	case units.Celsius:
		return p.Temp(x)
	case units.CelsiusDelta:
		return p.TempDelta(x)
	case units.ThermalUnits:
		return p.ThermalUnits(x)
	case units.MgPerL:
		return p.Sig(float64(x)) + nbsp + "mg/L"
	case units.Litres:
		return p.Sig(float64(x)) + nbsp + "L"
	case units.Grams:
		return p.Sig(float64(x)) + nbsp + "g"
	case units.Metres:
		return p.Num(float64(x), 0) + nbsp + "m"
	case units.Millimetres:
		return p.Num(float64(x), 1) + nbsp + "mm"
	case units.Kilopascal:
		return p.Num(float64(x), 1) + nbsp + "kPa"
	case civil.Date:
		return p.Date(x)
	case int:
		return p.Count(x)
	case float64:
		return p.Sig(x)
	case time.Weekday:
		return p.T("weekday." + strconv.Itoa(int(x)))
	}
	return fmt.Sprint(v)
}

func unitSymbol(u units.TemperatureUnit) string {
	if u == units.DegF {
		return "°F"
	}
	return "°C"
}

// UnitSymbol returns °C or °F.
func (p *Printer) UnitSymbol() string { return unitSymbol(p.unit) }

// Temp writes a temperature in the reader's unit to one decimal.
func (p *Printer) Temp(c units.Celsius) string {
	return p.Num(p.unit.FromCelsius(c), 1) + nbsp + p.UnitSymbol()
}

// TempNumber writes a temperature in the reader's unit without the unit.
func (p *Printer) TempNumber(c units.Celsius) string { return p.Num(p.unit.FromCelsius(c), 1) }

// TempDelta writes a temperature difference in the reader's unit: no +32.
func (p *Printer) TempDelta(d units.CelsiusDelta) string {
	v := float64(d)
	if p.unit == units.DegF {
		v = d.Fahrenheit()
	}
	return p.Num(v, 1) + nbsp + p.UnitSymbol()
}

// ThermalUnits writes degree-days; a reader of Fahrenheit sees the trade's
// Fahrenheit units.
func (p *Printer) ThermalUnits(u units.ThermalUnits) string {
	if p.unit == units.DegF {
		return p.Num(u.FahrenheitUnits(), 0) + nbsp + p.T("unit.tu_f")
	}
	return p.Num(float64(u), 0) + nbsp + p.T("unit.tu_c")
}

// Num writes a number with the given decimals and the language's marks.
func (p *Printer) Num(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	s := strconv.FormatFloat(units.Round(v, decimals), 'f', decimals, 64)
	neg := strings.HasPrefix(s, "-")
	s = strings.TrimPrefix(s, "-")
	whole, frac, _ := strings.Cut(s, ".")
	if strings.Trim(whole+frac, "0") == "" {
		neg = false // no minus zero
	}
	var b strings.Builder
	if neg {
		b.WriteString("−")
	}
	for i, r := range whole {
		if i > 0 && (len(whole)-i)%3 == 0 && len(whole) > 4 {
			b.WriteString(p.group)
		}
		b.WriteRune(r)
	}
	if frac != "" {
		b.WriteString(p.decimal)
		b.WriteString(frac)
	}
	return b.String()
}

// Sig writes a number to about three significant digits, without trailing zeros.
func (p *Printer) Sig(v float64) string {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return p.Num(v, 0)
	}
	decimals := 2 - int(math.Floor(math.Log10(math.Abs(v))))
	decimals = max(0, min(6, decimals))
	s := p.Num(v, decimals)
	if decimals > 0 {
		s = strings.TrimRight(s, "0")
		s = strings.TrimSuffix(s, p.decimal)
	}
	return s
}

// Count writes a whole number.
func (p *Printer) Count(n int) string { return p.Num(float64(n), 0) }

// Percent writes a share of 1 as a whole percentage.
func (p *Printer) Percent(share float64) string {
	return p.T("format.percent", map[string]any{"Value": p.Num(100*share, 0)})
}

// Date writes a date in words with its year.
func (p *Printer) Date(d civil.Date) string { return p.date("date.long", d) }

// DateShort writes day and month.
func (p *Printer) DateShort(d civil.Date) string { return p.date("date.short", d) }

// DayMonth writes day and whole month, for sentences.
func (p *Printer) DayMonth(d civil.Date) string { return p.date("date.day_month", d) }

// DateWeekday writes weekday, day and month.
func (p *Printer) DateWeekday(d civil.Date) string { return p.date("date.weekday", d) }

func (p *Printer) date(key string, d civil.Date) string {
	if d.IsZero() {
		return "–"
	}
	y, m, day := d.YMD()
	number := strconv.Itoa(day)
	if day == 1 {
		number = p.T("date.first")
	}
	return p.T(key, map[string]any{
		"Year": strconv.Itoa(y), "Day": number,
		"Month": p.T("month." + strconv.Itoa(int(m))), "MonthShort": p.T("month_short." + strconv.Itoa(int(m))),
		"Weekday": p.T("weekday." + strconv.Itoa(int(d.Weekday()))),
	})
}

// Clock writes the time of day of an instant in a zone.
func (p *Printer) Clock(t time.Time, loc *time.Location) string { return t.In(loc).Format("15:04") }

// When writes an instant as date and time of day in a zone.
func (p *Printer) When(t time.Time, loc *time.Location) string {
	return p.DateShort(civil.In(t, loc)) + ", " + p.Clock(t, loc)
}
