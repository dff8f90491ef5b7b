package ingest

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"reddside/internal/civil"
)

// DateOrder says which of three numbers is the year, the month and the day.
type DateOrder string

// The orders a file may use.
const (
	YMD DateOrder = "ymd"
	DMY DateOrder = "dmy"
	MDY DateOrder = "mdy"
)

var allOrders = []DateOrder{YMD, DMY, MDY}

// stamp is a cell that holds a date, a time or both, before the order of the
// date is known.
type stamp struct {
	hasDate bool
	part    [3]int // the three numbers as written
	width   [3]int // digits of each; a month in words has width 9
	hasTime bool
	hour    int // 0 to 24; 24:00 is the end of its day
	minute  int
	second  int
	nano    int
	hasOff  bool
	off     int // seconds east of UTC written in the cell
}

// weekday is the name of a day, English or French, whole or short, before a date.
var weekday = regexp.MustCompile(`(?i)^(?:mon|tues?|wed(?:nes)?|thu(?:rs?)?|fri|sat(?:ur)?|sun|` +
	`lun|mar|mer|jeu|ven|sam|dim)(?:day|di|credi|dredi|anche)?[.,]{0,2} (.+)$`)

// scanStamp reads a cell completely or not at all. A weekday before the date is
// passed over.
func scanStamp(cell string) (stamp, bool) {
	s := strings.Join(strings.Fields(cleanNumber(cell)), " ")
	st, ok := scanMoment(s)
	if !ok { // only then: "Mar 14" is in March, "mar. 14 févr." is a Tuesday
		if m := weekday.FindStringSubmatch(s); m != nil {
			if st, ok = scanMoment(m[1]); ok && !st.hasDate {
				ok = false
			}
		}
	}
	return st, ok
}

func scanMoment(s string) (stamp, bool) {
	var st stamp
	if len(s) < 4 || len(s) > 48 {
		return st, false
	}
	rest, ok := st.scanDate(s)
	if ok {
		st.hasDate = true
		if rest == "" {
			return st, true
		}
		switch {
		case rest[0] == 'T':
			rest = spreadClock(rest[1:])
		case rest[0] == ' ':
			rest = rest[1:]
		case strings.HasPrefix(rest, ", "):
			rest = rest[2:]
		default:
			return st, false
		}
	}
	return st, st.scanTime(rest)
}

// spreadClock puts the colons into the clock of a compact stamp: 0815 or 081530
// (ISO 8601, basic format).
func spreadClock(s string) string {
	switch digitRun(s) {
	case 4:
		return s[:2] + ":" + s[2:]
	case 6:
		return s[:2] + ":" + s[2:4] + ":" + s[4:]
	}
	return s
}

func (st *stamp) scanDate(s string) (string, bool) {
	const compact = 8 // 20240518
	if n := digitRun(s); n == compact && (len(s) == compact || s[n] == ' ' || s[n] == 'T') {
		st.part = [3]int{atoi(s[:4]), atoi(s[4:6]), atoi(s[6:8])}
		st.width = [3]int{4, 2, 2}
		return s[n:], st.part[0] >= firstYear && st.part[0] <= lastYear
	}
	rest := s
	for i := range 3 {
		n := digitRun(rest)
		if n == 0 {
			var month int
			if month, n = monthName(rest); month == 0 || i == 2 {
				return s, false
			}
			st.part[i], st.width[i] = month, 9
			rest = strings.TrimPrefix(rest[n:], ".")
		} else {
			if n > 4 || n == 3 {
				return s, false
			}
			st.part[i], st.width[i] = atoi(rest[:n]), n
			rest = rest[n:]
		}
		if i == 2 {
			break
		}
		trimmed := strings.TrimLeft(rest, "-/., ")
		gap := rest[:len(rest)-len(trimmed)]
		named := st.width[0] == 9 || st.width[1] == 9 || i == 0 && digitRun(trimmed) == 0
		if gap == "" || !named && (len(gap) != 1 || gap == " " || gap == ",") {
			return s, false
		}
		rest = trimmed
	}
	return rest, true
}

// scanTime reads 8:30, 08:30:15.5, 8 h 30, 8h30, 1:30 PM, and an offset.
func (st *stamp) scanTime(s string) bool {
	n := digitRun(s)
	if n < 1 || n > 2 {
		return false
	}
	st.hour, s = atoi(s[:n]), s[n:]
	sep := strings.TrimLeft(s, " ")
	if sep == "" || sep[0] != ':' && sep[0] != 'h' && sep[0] != 'H' || sep[0] == ':' && sep != s {
		return false
	}
	s = strings.TrimLeft(sep[1:], " ")
	if n = digitRun(s); n != 2 {
		return false
	}
	st.minute, s = atoi(s[:2]), s[2:]
	if strings.HasPrefix(s, ":") {
		if n = digitRun(s[1:]); n != 2 {
			return false
		}
		st.second, s = atoi(s[1:3]), s[3:]
		if len(s) > 1 && (s[0] == '.' || s[0] == ',') {
			n = digitRun(s[1:])
			if n < 1 || n > 9 {
				return false
			}
			st.nano = atoi((s[1:1+n] + "000000000")[:9])
			s = s[1+n:]
		}
	}
	half, rest := halfDay(s)
	if half != 0 {
		if st.hour < 1 || st.hour > 12 {
			return false
		}
		st.hour = st.hour%12 + 12*(half-1)
	}
	st.hasTime = true
	if rest = strings.TrimSpace(rest); rest != "" {
		off, ok := parseOffset(rest)
		if !ok {
			return false
		}
		st.hasOff, st.off = true, off
	}
	midnight := st.hour == 24 && st.minute == 0 && st.second == 0 && st.nano == 0
	return (st.hour < 24 || midnight) && st.minute < 60 && st.second < 60
}

// halfDay returns 1 for AM, 2 for PM, 0 for neither, and what follows.
func halfDay(s string) (int, string) {
	t := strings.ToUpper(strings.TrimSpace(s))
	for _, m := range []struct {
		text string
		half int
	}{{"A.M.", 1}, {"P.M.", 2}, {"A. M.", 1}, {"P. M.", 2}, {"AM", 1}, {"PM", 2}} {
		if strings.HasPrefix(t, m.text) {
			return m.half, t[len(m.text):]
		}
	}
	return 0, s
}

// No logger wrote before, and no file is from after, these years.
const firstYear, lastYear = 1950, 2100

// date returns the civil date in an order, false when there is no such day.
// Years of two digits are 1969 to 2068, as POSIX reads them.
func (st stamp) date(o DateOrder) (civil.Date, bool) {
	y, m, d := 0, 1, 2
	switch o {
	case DMY:
		y, m, d = 2, 1, 0
	case MDY:
		y, m, d = 2, 0, 1
	}
	if st.width[0] == 9 { // May 18, 2024
		y, m, d = 2, 0, 1
	} else if st.width[1] == 9 { // 18-May-2024, 2024 May 18
		y, m, d = 2, 1, 0
		if st.width[0] == 4 {
			y, d = 0, 2
		}
	}
	if st.width[d] > 2 || st.width[m] != 9 && st.width[m] > 2 || st.width[y] < 2 {
		return civil.Date{}, false
	}
	year := st.part[y]
	if st.width[y] == 2 {
		if year += 1900; year < 1969 {
			year += 100
		}
	}
	if year < firstYear || year > lastYear {
		return civil.Date{}, false
	}
	on, err := civil.New(year, time.Month(st.part[m]), st.part[d])
	return on, err == nil
}

var monthNames = []struct {
	name  string
	month int
}{
	{"jan", 1}, {"feb", 2}, {"fév", 2}, {"fev", 2}, {"mar", 3}, {"apr", 4}, {"avr", 4}, {"may", 5}, {"mai", 5},
	{"jun", 6}, {"juin", 6}, {"jul", 7}, {"juil", 7}, {"aug", 8}, {"août", 8}, {"aout", 8}, {"sep", 9}, {"oct", 10},
	{"nov", 11}, {"dec", 12}, {"déc", 12},
}

// monthName reads an English or French month, whole or shortened, and returns
// its number and length in bytes.
func monthName(s string) (int, int) {
	n := 0
	for i, r := range s {
		if r < 'A' || r > 'Z' && r < 'a' || r > 'z' && r < 0xc0 {
			break
		}
		n = i + len(string(r))
	}
	word := strings.ToLower(s[:min(n, len(s))])
	if len(word) < 3 || len(word) > 10 {
		return 0, 0
	}
	for _, m := range monthNames {
		if strings.HasPrefix(word, m.name) {
			return m.month, n
		}
	}
	return 0, 0
}

func digitRun(s string) int {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return n
}

// atoi reads a short run of digits that the caller has checked.
func atoi(s string) int {
	n := 0
	for i := 0; i < len(s); i++ {
		n = n*10 + int(s[i]-'0')
	}
	return n
}

// scanSerial reads the day number of a spreadsheet, with its time as a fraction:
// days since 1899-12-30, here 2000 to 2099 (ECMA-376 part 1, 18.17.4.1). The time
// is rounded to the second.
func scanSerial(cell string) (st stamp, ok bool) {
	s := strings.TrimSpace(cell)
	n := digitRun(s)
	if n != 5 || len(s) > 24 || len(s) > n && (len(s) == n+1 || s[n] != '.' && s[n] != ',' || !allDigits(s[n+1:])) {
		return st, false
	}
	const first, last, secondsOfDay = 36526, 73050, 86400
	day := atoi(s[:n])
	if day < first || day > last {
		return st, false
	}
	if len(s) > n {
		f, err := strconv.ParseFloat("0."+s[n+1:], 64)
		if err != nil {
			return st, false
		}
		sec := int(math.Round(f * secondsOfDay))
		st.hasTime, st.hour, st.minute, st.second = true, sec/3600, sec/60%60, sec%60
	}
	y, m, d := civil.Of(1899, 12, 30).AddDays(day).YMD()
	st.hasDate, st.part, st.width = true, [3]int{y, int(m), d}, [3]int{4, 2, 2}
	return st, true
}

// scanUnix reads seconds (10 digits) or milliseconds (13 digits) since 1970,
// between 2001 and 2100.
func scanUnix(cell string) (time.Time, bool) {
	s := strings.TrimSpace(cell)
	if !allDigits(s) {
		return time.Time{}, false
	}
	const year2100 = 4102444800
	switch len(s) {
	case 10:
		n := int64(atoi(s))
		return time.Unix(n, 0).UTC(), n >= 1e9 && n < year2100
	case 13:
		n := int64(atoi(s))
		return time.UnixMilli(n).UTC(), n >= 1e12 && n < year2100*1000
	}
	return time.Time{}, false
}
