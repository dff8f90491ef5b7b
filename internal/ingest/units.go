package ingest

import (
	"regexp"
	"strings"

	"reddside/internal/units"
)

// UnitKelvin and the tenths, hundredths and thousandths (prefixes d, c and m) of
// the three units of temperature are how some loggers write whole numbers.
const UnitKelvin = "K"

const zeroCelsius = 273.15 // in kelvin, by definition

var (
	scaleWord  = regexp.MustCompile(`(?i)(?:^|[\s(\[,_])[*×x]\s?(10{1,3})\b|/\s?(10{1,3})\b|\b(0[.,]0{0,2}1|1/10{1,3})\s?(?:°|deg)`)
	tenthsWord = regexp.MustCompile(`(?i)\b(?:tenths?|dixi[eè]mes?)\b(?: (?:of(?: a)?|de))?`)
)

// cutScale takes "x10", "/100", "0.1 °C" and "tenths" out of a heading and
// returns the prefix of the unit.
func cutScale(name string) (rest, prefix string) {
	if m := scaleWord.FindStringSubmatch(name); m != nil {
		word := strings.TrimLeft(m[0], " ([,_")
		if m[3] != "" { // the degree sign belongs to the unit
			word = m[3]
		}
		zeros := strings.Count(m[1]+m[2]+m[3], "0") // 0.1 has one as well, 10 has one
		return strings.Replace(name, word, " ", 1), []string{"", "d", "c", "m"}[zeros]
	}
	if tenthsWord.MatchString(name) {
		return tenthsWord.ReplaceAllString(name, " "), "d"
	}
	return name, ""
}

// scaled is a unit of temperature with a prefix.
func scaled(unit, prefix string) string {
	if unit == "" || prefix == "" {
		return unit
	}
	return prefix + baseUnit(unit)
}

// baseUnit is a unit without its prefix.
func baseUnit(unit string) string {
	for _, b := range []string{UnitCel, UnitDegF, UnitKelvin} {
		if p, ok := strings.CutSuffix(unit, b); ok && (p == "" || p == "d" || p == "c" || p == "m") {
			return b
		}
	}
	return ""
}

func isTemperature(unit string) bool { return baseUnit(unit) != "" }

// TemperatureUnits are the units that a person may name for a column.
func TemperatureUnits() []string {
	return []string{UnitCel, UnitDegF, UnitKelvin, "dCel", "cCel", "mCel", "d[degF]"}
}

// toCanonical converts a value typed in a unit to the unit of its quantity.
func toCanonical(unit string, v float64) float64 {
	if k, ok := kilopascalPer[unit]; ok {
		return v * k
	}
	base := baseUnit(unit)
	switch strings.TrimSuffix(unit, base) {
	case "d":
		v /= 10
	case "c":
		v /= 100
	case "m":
		v /= 1000
	}
	if base == UnitKelvin {
		return units.Round(v-zeroCelsius, 6) // without the error of the difference of two doubles
	}
	return float64(units.TemperatureUnit(base).ToCelsius(v))
}
