package ingest

import (
	"errors"
	"strconv"
	"strings"
)

// DecimalMark is the character between the whole and the fraction: '.' or ','.
// MarkUnknown means that nothing in the file settles it.
type DecimalMark rune

// The decimal marks.
const (
	MarkUnknown DecimalMark = 0
	MarkDot     DecimalMark = '.'
	MarkComma   DecimalMark = ','
)

// Errors of ParseNumber.
var (
	ErrNotNumber     = errors.New("ingest: not a number")
	ErrNumberUnclear = errors.New("ingest: number can be read in two ways")
)

// ParseNumber reads a decimal number written with a dot or a comma; a unit of
// temperature after it is returned as a UCUM code ("" when there is none).
// Spaces around it, a leading plus and one full stop at the end are ignored.
//
// 7.5 and 7,5 are the same. 1,500 or 1.500 (one to three digits, a mark, three
// digits) may be one and a half or one thousand five hundred: it is
// ErrNumberUnclear unless that mark is known to be the decimal mark. Two marks
// or a space between digits are ErrNumberUnclear too. An exponent has a sign, as
// programs write it (-5e-04); others, NaN and infinities are ErrNotNumber.
func ParseNumber(text string, mark DecimalMark) (value float64, unit string, err error) {
	s := cleanNumber(text)
	s, unit = cutUnit(s)
	if len(s) > 1 && strings.HasSuffix(s, ".") {
		s = s[:len(s)-1]
	}
	sign := ""
	if s != "" && (s[0] == '-' || s[0] == '+') {
		if s[0] == '-' {
			sign = "-"
		}
		s = s[1:]
	}
	if s == "" || len(s) > 30 {
		return 0, "", ErrNotNumber
	}
	s, exponent := cutExponent(s)
	marks, digits, spaces, at := 0, 0, 0, -1
	for i, c := range s {
		switch {
		case c >= '0' && c <= '9':
			digits++
		case c == '.' || c == ',':
			marks++
			at = i
		case c == ' ' || c == '\'':
			spaces++
		default:
			return 0, "", ErrNotNumber
		}
	}
	switch {
	case digits == 0:
		return 0, "", ErrNotNumber
	case marks > 1 || spaces > 0:
		return 0, "", ErrNumberUnclear
	}
	if marks == 1 {
		whole, frac := s[:at], s[at+1:]
		if frac == "" {
			return 0, "", ErrNotNumber
		}
		if DecimalMark(s[at]) != mark && exponent == "" && thousandsShape(whole, frac) {
			return 0, "", ErrNumberUnclear
		}
		s = whole + "." + frac
	}
	v, err := strconv.ParseFloat(sign+s+exponent, 64)
	if err != nil {
		return 0, "", ErrNotNumber
	}
	return v, unit, nil
}

// cutExponent parts 5e-04 into 5 and e-04.
func cutExponent(s string) (mantissa, exponent string) {
	i := strings.IndexAny(s, "eE")
	if i <= 0 || len(s)-i < 3 || len(s)-i > 5 || s[i+1] != '-' && s[i+1] != '+' || !allDigits(s[i+2:]) {
		return s, ""
	}
	return s[:i], s[i:]
}

// thousandsShape reports whether digits around a mark could be a group of
// thousands, as in 1,500 or 12.345 but not 0,500 or 1500,125.
func thousandsShape(whole, frac string) bool {
	return len(frac) == 3 && len(whole) >= 1 && len(whole) <= 3 && whole[0] != '0'
}

// cleanNumber removes what a person does not see: odd spaces, zero-width
// characters; and reads every minus as the same sign.
func cleanNumber(s string) string {
	s = strings.Map(func(r rune) rune {
		switch r {
		case '\u00a0', '\u202f', '\u2009', '\t':
			return ' '
		case '\u200b', '\u200e', '\u200f', '\u2060', '\ufeff':
			return -1
		case '\u2212', '\u2013':
			return '-'
		}
		return r
	}, s)
	return strings.TrimSpace(s)
}

// cutUnit takes a unit of temperature off the end of a number.
func cutUnit(s string) (string, string) {
	if s == "" || s[len(s)-1] >= '0' && s[len(s)-1] <= '9' {
		return s, ""
	}
	low := strings.ToLower(s)
	for _, u := range []struct{ text, code string }{
		{"degc", "Cel"}, {"deg c", "Cel"}, {"°c", "Cel"}, {"° c", "Cel"}, {"℃", "Cel"}, {"c", "Cel"},
		{"degf", "[degF]"}, {"deg f", "[degF]"}, {"°f", "[degF]"}, {"° f", "[degF]"}, {"℉", "[degF]"}, {"f", "[degF]"},
		{"k", "K"},
	} {
		if strings.HasSuffix(low, u.text) && len(low) == len(s) {
			return strings.TrimSpace(s[:len(s)-len(u.text)]), u.code
		}
	}
	return s, ""
}

// missing reports whether a cell says "no value".
func missing(s string) bool {
	switch strings.ToUpper(s) {
	case "NA", "N/A", "#N/A", "NAN", "NULL", "NONE", "-", "--", "---", "ND", "N.D.", "NS", "MISSING":
		return true
	}
	return false
}

// markOf finds the decimal mark from how often each shape of number occurs.
type markCount struct{ dot, dotClear, comma, commaClear int }

func (m *markCount) add(cell string) {
	s := strings.TrimLeft(cleanNumber(cell), "+-")
	at := strings.IndexAny(s, ".,")
	if at < 0 || at != strings.LastIndexAny(s, ".,") {
		return
	}
	whole, frac := s[:at], s[at+1:]
	if !allDigits(whole) || !allDigits(frac) {
		return
	}
	clear := !thousandsShape(whole, frac)
	switch {
	case s[at] == '.' && clear:
		m.dot++
		m.dotClear++
	case s[at] == '.':
		m.dot++
	case clear:
		m.comma++
		m.commaClear++
	default:
		m.comma++
	}
}

// mark returns the decimal mark, and ask = true when every number could be
// read in two ways. A file with dots alone has dots for decimals: loggers
// write 19.282 and no common format groups thousands by dots only.
func (m markCount) mark() (mark DecimalMark, ask bool) {
	switch {
	case m.comma == 0:
		return MarkDot, false
	case m.dot == 0 && m.commaClear > 0:
		return MarkComma, false
	case m.dot == 0:
		return MarkUnknown, true
	case m.commaClear > 0 && m.dotClear == 0:
		return MarkComma, false
	case m.dotClear > 0 && m.commaClear == 0:
		return MarkDot, false
	}
	return MarkUnknown, false
}

func allDigits(s string) bool {
	if s == "" {
		return false
	}
	for i := 0; i < len(s); i++ {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return true
}
