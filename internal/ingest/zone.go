package ingest

import (
	"fmt"
	"regexp"
	"strings"
	"time"

	"reddside/internal/civil"
)

// Answers to the zone question that are not an offset such as "-04:00".
const (
	ZoneSite = "site" // the clock on the wall of the school
	ZoneUTC  = "UTC"
	// ZoneStandard is the standard time of the school all year round, for loggers
	// that do not follow summer time.
	ZoneStandard = "standard"
	// ZoneRows says that each row has its own offset. It is no answer.
	ZoneRows = "rows"
)

// Names of fixed offsets that loggers and data services print, seconds east of
// UTC. Standard meanings in North America and central Europe, from memory.
var zoneNames = map[string]int{
	"UTC": 0, "GMT": 0,
	"NST": -12600, "NDT": -9000, "AST": -14400, "ADT": -10800, "EST": -18000, "EDT": -14400,
	"CST": -21600, "CDT": -18000, "MST": -25200, "MDT": -21600, "PST": -28800, "PDT": -25200,
	"AKST": -32400, "AKDT": -28800, "HST": -36000,
	"CET": 3600, "CEST": 7200, "MEZ": 3600, "MESZ": 7200,
	"ATLANTIC STANDARD TIME": -14400, "ATLANTIC DAYLIGHT TIME": -10800,
	"EASTERN STANDARD TIME": -18000, "EASTERN DAYLIGHT TIME": -14400,
	"CENTRAL STANDARD TIME": -21600, "CENTRAL DAYLIGHT TIME": -18000,
	"MOUNTAIN STANDARD TIME": -25200, "MOUNTAIN DAYLIGHT TIME": -21600,
	"PACIFIC STANDARD TIME": -28800, "PACIFIC DAYLIGHT TIME": -25200,
}

var (
	zoneOffset = regexp.MustCompile(`\b(?:GMT|UTC)\s*([+\-\x{2212}]\s?\d{1,2}(?::?\d{2})?)(?:\D|$)`)
	zoneLong   = regexp.MustCompile(`(?i)\b(?:atlantic|eastern|central|mountain|pacific) (?:standard|daylight) time\b`)
	zoneShort  = regexp.MustCompile(`(?:^|[^A-Za-z])(UTC|GMT|NST|NDT|AST|ADT|EST|EDT|CST|CDT|MST|MDT|PST|PDT|AKST|AKDT|HST|CET|CEST|MEZ|MESZ)(?:[^A-Za-z]|$)`)
	zoneStd    = regexp.MustCompile(`(?i)\bstandard time\b|[(\[,]\s*(?:local )?(?:standard|std|lst)\s*[)\]]?\s*$|\bheure normale\b`)
	zoneLabel  = regexp.MustCompile(`(?i)^\W*(zeitbezug|time ?zone|fuseau( horaire)?|tz)\b`)
)

// headerZone finds a fixed offset in the heading of a time column, such as
// "Date Time, GMT-04:00".
func headerZone(heading string) (int, bool) {
	if m := zoneOffset.FindStringSubmatch(heading); m != nil {
		return parseOffset(strings.ReplaceAll(strings.ReplaceAll(m[1], " ", ""), "\u2212", "-"))
	}
	if m := zoneLong.FindString(heading); m != "" {
		return zoneNames[strings.ToUpper(m)], true
	}
	if m := zoneShort.FindStringSubmatch(heading); m != nil {
		return zoneNames[m[1]], true
	}
	return 0, false
}

// standardTime is the clock of a place without summer time.
func standardTime(loc *time.Location, on civil.Date) *time.Location {
	year, _, _ := on.YMD()
	_, january := time.Date(year, 1, 15, 12, 0, 0, 0, loc).Zone()
	_, july := time.Date(year, 7, 15, 12, 0, 0, 0, loc).Zone()
	return time.FixedZone("", min(january, july))
}

// parseOffset reads Z, UTC, GMT, +01:00, -0400, -04 and the short zone names.
func parseOffset(s string) (int, bool) {
	if s == "Z" || s == "z" {
		return 0, true
	}
	if off, ok := zoneNames[strings.ToUpper(s)]; ok {
		return off, true
	}
	s = strings.TrimPrefix(strings.TrimPrefix(s, "UTC"), "GMT")
	if len(s) < 2 || s[0] != '+' && s[0] != '-' {
		return 0, false
	}
	digits := strings.Replace(s[1:], ":", "", 1)
	if !allDigits(digits) || len(digits) > 4 || len(digits) == 3 && !strings.Contains(s, ":") {
		return 0, false
	}
	h, m := atoi(digits), 0
	if len(digits) > 2 {
		h, m = atoi(digits[:len(digits)-2]), atoi(digits[len(digits)-2:])
	}
	if h > 14 || m > 59 {
		return 0, false
	}
	off := h*3600 + m*60
	if s[0] == '-' {
		off = -off
	}
	return off, true
}

// formatOffset writes an offset as -04:00.
func formatOffset(sec int) string {
	sign := '+'
	if sec < 0 {
		sign, sec = '-', -sec
	}
	return fmt.Sprintf("%c%02d:%02d", sign, sec/3600, sec/60%60)
}

// localInstant finds the instant at which the wall clock of loc shows a date
// and time. found is 0 when a clock change skips it, 2 when the clock shows it
// twice, else 1.
func localInstant(on civil.Date, st stamp, loc *time.Location) (t time.Time, found int) {
	wall := on.UTC().Add(time.Duration(st.hour)*time.Hour + time.Duration(st.minute)*time.Minute +
		time.Duration(st.second)*time.Second + time.Duration(st.nano))
	seen := [3]int{1 << 30, 1 << 30, 1 << 30}
	// Offsets in force a day before, at, and a day after the wall time: no
	// zone has changed its clocks twice in so short a time.
	for i, shift := range []time.Duration{-24 * time.Hour, 0, 24 * time.Hour} {
		_, off := wall.Add(shift).In(loc).Zone()
		if off == seen[0] || off == seen[1] {
			continue
		}
		seen[i] = off
		u := wall.Add(-time.Duration(off) * time.Second)
		if _, there := u.In(loc).Zone(); there == off {
			t = u
			found++
		}
	}
	return t, found
}
