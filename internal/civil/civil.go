// Package civil holds calendar dates without a time of day or a zone.
//
// A tank's day is the date on the wall of its school, never an instant in UTC
// cut to a day, so every date in the logbook is a civil.Date.
package civil

import (
	"database/sql/driver"
	"fmt"
	"time"
)

// Date is a day of the proleptic Gregorian calendar between year 1 and 9999.
// The zero Date means "no date". Dates compare with == and are valid map keys.
type Date struct {
	n int32 // 1 + days since 1970-01-01, shifted so that 0 is "no date"
}

// shift keeps every representable date above zero: 0001-01-01 has n == 1.
const shift = 719163

// Of returns the date of a year, month and day. Values outside the calendar
// are normalised as time.Date does; use Parse or New to refuse them.
func Of(year int, month time.Month, day int) Date {
	return fromUnixDays(time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// New returns the date of a year, month and day, or an error when there is no
// such day in the calendar.
func New(year int, month time.Month, day int) (Date, error) {
	if year < 1 || year > 9999 || month < 1 || month > 12 || day < 1 || day > DaysIn(year, month) {
		return Date{}, fmt.Errorf("civil: no such date %d-%d-%d", year, month, day)
	}
	return Of(year, month, day), nil
}

// DaysIn returns the number of days in a month.
func DaysIn(year int, month time.Month) int {
	return time.Date(year, month+1, 0, 0, 0, 0, 0, time.UTC).Day()
}

// Parse reads a date written YYYY-MM-DD and nothing else.
func Parse(s string) (Date, error) {
	if len(s) != 10 || s[4] != '-' || s[7] != '-' {
		return Date{}, fmt.Errorf("civil: %q is not a date like 2025-01-31", s)
	}
	y, okY := digits(s[:4])
	m, okM := digits(s[5:7])
	d, okD := digits(s[8:])
	if !okY || !okM || !okD {
		return Date{}, fmt.Errorf("civil: %q is not a date like 2025-01-31", s)
	}
	return New(y, time.Month(m), d)
}

func digits(s string) (int, bool) {
	n := 0
	for _, c := range []byte(s) {
		if c < '0' || c > '9' {
			return 0, false
		}
		n = n*10 + int(c-'0')
	}
	return n, true
}

// MustParse is Parse for constants in code and tests; it panics on bad input.
func MustParse(s string) Date {
	d, err := Parse(s)
	if err != nil {
		panic(err)
	}
	return d
}

// In returns the date that the clock on the wall shows at instant t in zone loc.
func In(t time.Time, loc *time.Location) Date {
	y, m, d := t.In(loc).Date()
	return Of(y, m, d)
}

func fromUnixDays(days int64) Date { return Date{int32(days + shift)} }

// IsZero reports whether d is "no date".
func (d Date) IsZero() bool { return d.n == 0 }

// AddDays returns the date n days later (earlier when n is negative). Adding
// to the zero Date gives the zero Date.
func (d Date) AddDays(n int) Date {
	if d.n == 0 {
		return d
	}
	return Date{d.n + int32(n)}
}

// Sub returns the number of days from e to d: positive when d is later.
func (d Date) Sub(e Date) int { return int(d.n - e.n) }

// Compare returns -1, 0 or +1 as d is before, equal to or after e.
func (d Date) Compare(e Date) int {
	switch {
	case d.n < e.n:
		return -1
	case d.n > e.n:
		return 1
	}
	return 0
}

// Before reports whether d is an earlier day than e.
func (d Date) Before(e Date) bool { return d.n < e.n }

// After reports whether d is a later day than e.
func (d Date) After(e Date) bool { return d.n > e.n }

// Weekday returns the day of the week.
func (d Date) Weekday() time.Weekday { return d.UTC().Weekday() }

// UTC returns midnight of d in UTC, for formatting and calendar arithmetic only.
func (d Date) UTC() time.Time {
	return time.Unix((int64(d.n)-shift)*86400, 0).UTC()
}

// Start returns the instant at which d begins in zone loc. Where a clock
// change skips midnight it is the first instant that exists.
func (d Date) Start(loc *time.Location) time.Time {
	y, m, day := d.YMD()
	return time.Date(y, m, day, 0, 0, 0, 0, loc)
}

// YMD returns year, month and day.
func (d Date) YMD() (int, time.Month, int) { return d.UTC().Date() }

// String writes YYYY-MM-DD; the zero Date is the empty string.
func (d Date) String() string {
	if d.n == 0 {
		return ""
	}
	y, m, day := d.YMD()
	b := [10]byte{
		byte('0' + y/1000), byte('0' + y/100%10), byte('0' + y/10%10), byte('0' + y%10), '-',
		byte('0' + int(m)/10), byte('0' + int(m)%10), '-', byte('0' + day/10), byte('0' + day%10),
	}
	return string(b[:])
}

// MarshalText implements encoding.TextMarshaler.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText implements encoding.TextUnmarshaler; empty text is "no date".
func (d *Date) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*d = Date{}
		return nil
	}
	v, err := Parse(string(b))
	if err != nil {
		return err
	}
	*d = v
	return nil
}

// Value implements driver.Valuer: TEXT YYYY-MM-DD, or NULL for "no date".
func (d Date) Value() (driver.Value, error) {
	if d.n == 0 {
		return nil, nil
	}
	return d.String(), nil
}

// Scan implements sql.Scanner for TEXT YYYY-MM-DD or NULL.
func (d *Date) Scan(src any) error {
	switch v := src.(type) {
	case nil:
		*d = Date{}
		return nil
	case string:
		return d.UnmarshalText([]byte(v))
	case []byte:
		return d.UnmarshalText(v)
	}
	return fmt.Errorf("civil: cannot read a date from %T", src)
}

// Min returns the earlier of two dates, Max the later.
func Min(a, b Date) Date {
	if b.n < a.n {
		return b
	}
	return a
}

// Max returns the later of two dates.
func Max(a, b Date) Date {
	if b.n > a.n {
		return b
	}
	return a
}
