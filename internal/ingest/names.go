package ingest

import (
	"regexp"
	"strings"
)

// Quantity is what a column measures.
type Quantity string

// The quantities of a series. Values are kept in the canonical unit beside.
const (
	Temperature   Quantity = "temperature"    // Cel
	OxygenMgL     Quantity = "oxygen_mg_l"    // mg/L
	OxygenPercent Quantity = "oxygen_percent" // % of saturation
	Pressure      Quantity = "pressure"       // kPa
)

// Units in which values are entered, as UCUM codes.
const (
	UnitCel     = "Cel"
	UnitDegF    = "[degF]"
	UnitMgL     = "mg/L"
	UnitPercent = "%"
	UnitKPa     = "kPa"
)

// kPa in one unit of pressure. Definitions: psi from pound and inch, mmHg and
// inHg conventional; from memory.
var kilopascalPer = map[string]float64{
	UnitKPa: 1, "[psi]": 6.894757293168, "mm[Hg]": 0.133322387415, "[in_i'Hg]": 3.386388640341, "mbar": 0.1,
}

var (
	inBrackets = regexp.MustCompile(`[\[(]\s*([^\[\]()]*?)\s*[\])]`)
	inSquare   = regexp.MustCompile(`\[([^\]]*)\]`)
	serialPart = regexp.MustCompile(`(?i)\((?:lgr|sen)[^)]*\)`)

	nameSkip  = regexp.MustCompile(`\b(flag|drapeau|qual|quality|qc|batt?(ery)?|bv|volts?|v|count|lux|light|cond(uct\w*)?|leitf\w*|lf|turb\w*|sal(inity)?|ph|cal|index no|n|n readings?|no readings?|rec(ord)? ?no|row)\b|µs|us/cm|^#$|^id$`)
	nameTemp  = regexp.MustCompile(`temp|^t$|\bt ?(min|max|mean|avg|moy|water|eau|c|f)\b|^t\b`)
	nameAir   = regexp.MustCompile(`\bair|luft|ambient|\broom\b|\bdew|pièce`)
	nameOxy   = regexp.MustCompile(`\bo2\b|oxy|\bdo\b|sauerstoff`)
	namePres  = regexp.MustCompile(`pres|baro|luftdruck`)
	nameEvent = regexp.MustCompile(`\b(stopped|started|(dis)?connected|detached|attached|end of file|event|detect)\b`)
	nameMean  = regexp.MustCompile(`mean|avg|average|moy|mittel`)
	nameEnds  = regexp.MustCompile(`min|max`)
	nameWho   = regexp.MustCompile(`\b(site|site ?id|station|station ?id|depth|tiefe|profondeur|sonde|logger|serial|sensor|probe|tank|bac|location|lieu|channel|stream|river|name|device|where|point)\b`)

	unitPatterns = []struct {
		unit string
		re   *regexp.Regexp
	}{
		{UnitMgL, regexp.MustCompile(`mg ?/ ?l\b|\bmg l\b|\bppm\b`)},
		{UnitPercent, regexp.MustCompile(`%|\bpercent\b|\bpct\b`)},
		{"[psi]", regexp.MustCompile(`\bpsi\b`)},
		{UnitKPa, regexp.MustCompile(`\bkpa\b`)},
		{"mm[Hg]", regexp.MustCompile(`\bmm ?hg\b`)},
		{"[in_i'Hg]", regexp.MustCompile(`\bin ?hg\b`)},
		{"mbar", regexp.MustCompile(`\bmbar\b|\bhpa\b`)},
		{"mCel", regexp.MustCompile(`\bm ?° ?c\b|\bm(?:illi)? ?deg(?:rees?)? ?(?:c|celsius)\b|\bmcel\b`)},
		{"mK", regexp.MustCompile(`\bmk\b|\bmilli ?kelvin\b`)},
		{UnitKelvin, regexp.MustCompile(`\bkelvin\b|° ?k\b|^k$`)},
		{UnitCel, regexp.MustCompile(`° ?c\b|\bdeg(rees?)? ?c\b|celsius|℃`)},
		{UnitDegF, regexp.MustCompile(`° ?f\b|\bdeg(rees?)? ?f\b|fahrenheit|℉`)},
	}
	letterC = regexp.MustCompile(`\bc$`)
	letterF = regexp.MustCompile(`\bf$`)
	letterK = regexp.MustCompile(`\bk$`)
)

// plain lowers a heading and makes every kind of joint a space.
func plain(name string) string {
	s := serialPart.ReplaceAllString(name, "")
	s = strings.NewReplacer("_", " ", ".", " ", "-", " ", "º", "°", "\u00a0", " ").Replace(strings.ToLower(s))
	return strings.Join(strings.Fields(s), " ")
}

// unitOf finds the unit in a heading. A unit in brackets wins, so that
// "LF (20 °C) [µS/cm]" is no temperature. bare allows a single letter.
func unitOf(name string, bare bool) string {
	p := plain(name)
	if m := inSquare.FindStringSubmatch(p); m != nil {
		return unitIn(strings.TrimSpace(m[1]), bare)
	}
	for _, m := range inBrackets.FindAllStringSubmatch(p, -1) {
		if u := unitIn(m[1], bare || len(m[1]) == 1); u != "" {
			return u
		}
	}
	return unitIn(p, bare)
}

func unitIn(s string, bare bool) string {
	for _, u := range unitPatterns {
		if u.re.MatchString(s) {
			return u.unit
		}
	}
	switch {
	case bare && letterC.MatchString(s):
		return UnitCel
	case bare && letterF.MatchString(s):
		return UnitDegF
	case bare && letterK.MatchString(s):
		return UnitKelvin
	}
	return ""
}

// meaning is what a heading says about its column.
type meaning struct {
	skip     bool // battery, flag, count: never a measurement we read
	known    bool
	quantity Quantity
	unit     string // "" when the heading does not say
	air      bool
	scale    string // of the values, as a prefix: "d" when they are tenths of the unit
	mean     bool
	extreme  bool // daily minimum or maximum
}

func meaningOf(name string) meaning {
	name, scale := cutScale(name)
	p := plain(name)
	m := meaning{air: nameAir.MatchString(p), mean: nameMean.MatchString(p), extreme: nameEnds.MatchString(p)}
	isTemp := nameTemp.MatchString(p)
	unit := unitOf(name, isTemp || len(p) == 1)
	square := strings.Contains(name, "[")
	switch {
	case nameOxy.MatchString(p) && (unit == UnitMgL || unit == UnitPercent || unit == "" && !square):
		m.known, m.quantity, m.unit = true, OxygenMgL, unit
		if unit == UnitPercent || unit == "" && strings.Contains(p, "sat") {
			m.quantity, m.unit = OxygenPercent, UnitPercent
		}
	case namePres.MatchString(p) && kilopascalPer[unit] != 0:
		m.known, m.quantity, m.unit = true, Pressure, unit
	case isTemp && unit == "" && !square || isTemperature(unit):
		m.known, m.quantity, m.unit, m.scale = true, Temperature, scaled(unit, scale), scale
		m.skip = strings.Contains(p, "flag") || unit == "" && !isTemp
	default:
		m.skip = square || namePres.MatchString(p) || nameSkip.MatchString(p)
	}
	if m.known && !isTemp && m.quantity == Temperature && nameSkip.MatchString(p) {
		m.known, m.skip = false, true
	}
	return m
}
