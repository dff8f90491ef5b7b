package civil

import (
	"testing"
	"time"
	_ "time/tzdata"

	"pgregory.net/rapid"
)

func TestParseRefusesWhatIsNotADay(t *testing.T) {
	for _, s := range []string{"", "2025-02-29", "2025-1-5", "2025-13-01", "2025-00-10", "2025-01-00", "25-01-01",
		"2025/01/01", "2025-01-01T00:00:00Z", "0000-01-01", "２025-01-01"} {
		if d, err := Parse(s); err == nil {
			t.Errorf("Parse(%q) = %v, want an error", s, d)
		}
	}
	for _, s := range []string{"2024-02-29", "0001-01-01", "9999-12-31", "1969-12-31"} {
		if got := MustParse(s).String(); got != s {
			t.Errorf("round trip of %s gives %s", s, got)
		}
	}
}

// time.Time is the outside reference for calendar arithmetic.
func TestArithmeticAgreesWithTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		base := time.Date(rapid.IntRange(1, 9000).Draw(t, "y"), 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0,
			rapid.IntRange(0, 365).Draw(t, "d"))
		n := rapid.IntRange(-300, 300000).Draw(t, "n")
		y, m, day := base.Date()
		d := Of(y, m, day)
		want := base.AddDate(0, 0, n)
		if want.Year() < 1 || want.Year() > 9999 {
			return
		}
		got := d.AddDays(n)
		if got.String() != want.Format("2006-01-02") || got.Sub(d) != n || got.Weekday() != want.Weekday() {
			t.Fatalf("%v + %d = %v, want %v", d, n, got, want)
		}
	})
}

// Requirement D2: zones far from UTC, both sides of midnight, both clock changes.
func TestInUsesTheClockOnTheWall(t *testing.T) {
	cases := []struct{ zone, instant, want string }{
		{"America/Vancouver", "2025-01-02T07:59:00Z", "2025-01-01"},
		{"America/Vancouver", "2025-01-02T08:01:00Z", "2025-01-02"},
		{"America/St_Johns", "2025-01-02T03:29:00Z", "2025-01-01"},
		{"America/St_Johns", "2025-01-02T03:31:00Z", "2025-01-02"},
		{"UTC", "2025-01-01T23:59:00Z", "2025-01-01"},
		{"Pacific/Tongatapu", "2025-01-01T11:01:00Z", "2025-01-02"},
		{"America/Halifax", "2025-03-09T05:59:00Z", "2025-03-09"},
		{"America/Halifax", "2025-11-02T03:01:00Z", "2025-11-02"},
	}
	for _, c := range cases {
		loc, err := time.LoadLocation(c.zone)
		if err != nil {
			t.Fatal(err)
		}
		at, _ := time.Parse(time.RFC3339, c.instant)
		if got := In(at, loc).String(); got != c.want {
			t.Errorf("%s in %s is %s, want %s", c.instant, c.zone, got, c.want)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add("2025-01-31")
	f.Add("0000-00-00")
	f.Fuzz(func(t *testing.T, s string) {
		d, err := Parse(s)
		if err == nil && d.String() != s {
			t.Fatalf("Parse(%q).String() = %q", s, d)
		}
	})
}

func TestZeroDateIsNull(t *testing.T) {
	var d Date
	if v, _ := d.Value(); v != nil || !d.IsZero() || d.String() != "" || !d.AddDays(5).IsZero() {
		t.Error("the zero Date must stay empty")
	}
	if err := d.Scan("2025-06-01"); err != nil || d != MustParse("2025-06-01") {
		t.Errorf("Scan: %v %v", d, err)
	}
	if err := d.Scan(int64(5)); err == nil {
		t.Error("Scan of a number must fail")
	}
}
