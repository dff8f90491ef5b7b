package logbook

import (
	"math"
	"strconv"
	"strings"
	"unicode"

	"reddside/internal/units"
)

// maxTyped bounds a typed number in characters; longer text is not a number.
const maxTyped = 64

// ParseDecimal reads a number as a person types it on any keyboard: spaces of
// every kind are ignored, the decimal mark is a point or a comma, and units
// are dealt with by the caller. It never guesses: a number with two marks, or
// with digits grouped by three such as 1,500 when a decimal is unlikely, is
// refused with key "number.ambiguous"; anything else that is not a number with
// "number.not". ok is true only with a finite value.
func ParseDecimal(s string) (v float64, key string) {
	t, key := cleanNumber(s)
	if key != "" {
		return 0, key
	}
	if strings.Count(t, ".")+strings.Count(t, ",") > 1 {
		return 0, "number.ambiguous"
	}
	v, err := strconv.ParseFloat(strings.Replace(t, ",", ".", 1), 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, "number.not"
	}
	return v, ""
}

// ParseCount reads a whole number of things. A comma, point or space between
// digits is never guessed at: 1,500 is fifteen hundred to some and one and a
// half to others, so it is refused with "number.count_separator".
func ParseCount(s string) (n int, key string) {
	t := strings.TrimFunc(s, ignorable)
	t = strings.Map(dropInvisible, t)
	if t == "" || len(t) > maxTyped {
		return 0, "number.not_whole"
	}
	digits := 0
	for _, r := range t {
		switch {
		case r >= '0' && r <= '9':
			digits++
		case r == ',' || r == '.' || unicode.IsSpace(r) || r == '\'':
			if digits == 0 {
				return 0, "number.not_whole"
			}
			return 0, "number.count_separator"
		case (r == '-' || r == '−') && digits == 0:
			return 0, "number.negative"
		default:
			return 0, "number.not_whole"
		}
	}
	n, err := strconv.Atoi(t)
	if err != nil || n > 10_000_000 {
		return 0, "number.not_whole"
	}
	return n, ""
}

// ParseTemperature reads a temperature with or without its unit: "7.5", "7,5",
// "45.5 F", "7.5 °C". Without a unit it is in def. It returns the number as
// typed and its unit.
func ParseTemperature(s string, def units.TemperatureUnit) (v float64, unit units.TemperatureUnit, key string) {
	t := strings.TrimFunc(s, ignorable)
	lower := strings.ToLower(strings.Map(dropInvisible, t))
	unit = def
	for _, suffix := range []struct {
		text string
		unit units.TemperatureUnit
	}{
		{"degrees celsius", units.Cel}, {"degrés celsius", units.Cel}, {"celsius", units.Cel}, {"deg c", units.Cel},
		{"cel", units.Cel},
		{"degrees fahrenheit", units.DegF}, {"degrés fahrenheit", units.DegF}, {"fahrenheit", units.DegF},
		{"deg f", units.DegF}, {"[degf]", units.DegF},
		{"°c", units.Cel}, {"º c", units.Cel}, {"ºc", units.Cel}, {"° c", units.Cel}, {"℃", units.Cel},
		{"c", units.Cel},
		{"°f", units.DegF}, {"ºf", units.DegF}, {"° f", units.DegF}, {"º f", units.DegF}, {"℉", units.DegF},
		{"f", units.DegF},
		{"degrees", def}, {"degrés", def}, {"°", def}, {"º", def},
	} {
		if strings.HasSuffix(lower, suffix.text) {
			lower, unit = strings.TrimSuffix(lower, suffix.text), suffix.unit
			break
		}
	}
	v, key = ParseDecimal(lower)
	return v, unit, key
}

// cleanNumber strips what people type around a number and normalises signs.
func cleanNumber(s string) (string, string) {
	t := strings.TrimFunc(s, ignorable)
	t = strings.TrimRight(t, ".")
	if t == "" || len(t) > maxTyped {
		return "", "number.not"
	}
	var b strings.Builder
	digits := false
	for _, r := range t {
		switch {
		case r >= '0' && r <= '9':
			digits = true
			b.WriteRune(r)
		case r == '.' || r == ',':
			b.WriteRune(r)
		case (r == '-' || r == '−' || r == '+') && b.Len() == 0:
			if r != '+' {
				b.WriteByte('-')
			}
		case dropInvisible(r) < 0:
		case unicode.IsSpace(r):
			// "7 5" is not 75: a space inside digits is never guessed at.
			if digits {
				return "", "number.not"
			}
		default:
			return "", "number.not"
		}
	}
	if !digits {
		return "", "number.not"
	}
	return b.String(), ""
}

func ignorable(r rune) bool { return unicode.IsSpace(r) || dropInvisible(r) < 0 }

// dropInvisible removes characters that copy and paste brings along unseen.
func dropInvisible(r rune) rune {
	if unicode.Is(unicode.Cf, r) || r == '\ufeff' {
		return -1
	}
	return r
}
