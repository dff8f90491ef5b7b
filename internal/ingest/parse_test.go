package ingest

import (
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"reddside/internal/civil"
	"reddside/internal/units"

	"pgregory.net/rapid"
)

// Source of the rules: requirements L2 to L4 (7,5 = 7.5; 1,500 is never guessed).
func TestParseNumber(t *testing.T) {
	for _, c := range []struct {
		text string
		mark DecimalMark
		want float64
		unit string
		err  error
	}{
		{"7.5", 0, 7.5, "", nil}, {"7,5", 0, 7.5, "", nil}, {" 7,5 ", 0, 7.5, "", nil}, {"\u00a07,5", 0, 7.5, "", nil},
		{"+14.287", MarkDot, 14.287, "", nil}, {"14.287", 0, 0, "", ErrNumberUnclear}, {"-0.5", 0, -0.5, "", nil},
		{"\u22120,5", 0, -0.5, "", nil}, {"0,500", 0, 0.5, "", nil}, {".5", 0, 0.5, "", nil}, {"7.", 0, 7, "", nil},
		{"7.5 °C", 0, 7.5, UnitCel, nil}, {"45.5F", 0, 45.5, UnitDegF, nil}, {"7,5 deg C", 0, 7.5, UnitCel, nil},
		{"1,500", 0, 0, "", ErrNumberUnclear}, {"1.500", 0, 0, "", ErrNumberUnclear},
		{"1 500", 0, 0, "", ErrNumberUnclear},
		{"1,500", MarkComma, 1.5, "", nil}, {"1.500", MarkComma, 0, "", ErrNumberUnclear},
		{"1,500", MarkDot, 0, "", ErrNumberUnclear},
		{"1.234,5", 0, 0, "", ErrNumberUnclear}, {"7.5.1", 0, 0, "", ErrNumberUnclear},
		{"7,", 0, 0, "", ErrNotNumber}, {"", 0, 0, "", ErrNotNumber}, {"NaN", 0, 0, "", ErrNotNumber},
		{"1e3", 0, 0, "", ErrNotNumber},
		{"--5", 0, 0, "", ErrNotNumber}, {"C", 0, 0, "", ErrNotNumber}, {"Inf", 0, 0, "", ErrNotNumber},
	} {
		v, unit, err := ParseNumber(c.text, c.mark)
		if err != c.err || err == nil && (v != c.want || unit != c.unit) {
			t.Errorf("%q mark %q: %g %q %v, want %g %q %v", c.text, rune(c.mark), v, unit, err, c.want, c.unit, c.err)
		}
	}
}

// Requirement L9: every 0.1 F from 32.0 to 100.0 comes back as typed.
func TestFahrenheitRoundTrip(t *testing.T) {
	var b strings.Builder
	b.WriteString("time,temp F\n")
	start := time.Date(2025, 1, 10, 0, 0, 0, 0, time.UTC)
	for i := 320; i <= 1000; i++ {
		b.WriteString(start.Add(time.Duration(i)*time.Minute).Format("2006-01-02 15:04") + "," +
			strconv.FormatFloat(float64(i)/10, 'f', 1, 64) + "\n")
	}
	r, err := Read([]byte(b.String()), Answers{}, time.UTC)
	if err != nil || len(r.Readings) != 681 {
		t.Fatal(len(r.Readings), err)
	}
	for _, x := range r.Readings {
		if back := strconv.FormatFloat(units.Round(float64(x.Celsius().Fahrenheit()), 1), 'f', 1,
			64); back != x.Entered {
			t.Errorf("%s F came back as %s", x.Entered, back)
		}
	}
}

func TestScanStamp(t *testing.T) {
	for _, c := range []struct {
		text  string
		order DateOrder
		date  string
		clock string // "" when there is none
	}{
		{"2025-01-10 08:30", YMD, "2025-01-10", "08:30:00"}, {"2025-01-10T08:30:15Z", YMD, "2025-01-10", "08:30:15"},
		{"1/16/2015 8:45", MDY, "2015-01-16", "08:45:00"}, {"18.05.2024 10:00", DMY, "2024-05-18", "10:00:00"},
		{"18-May-24", DMY, "2024-05-18", ""}, {"May 18, 2024 1:30 PM", MDY, "2024-05-18", "13:30:00"},
		{"18 mai 2024 8 h 30", DMY, "2024-05-18", "08:30:00"}, {"18 juil. 2024", DMY, "2024-07-18", ""},
		{"2025/3/25 12:00:00 AM", YMD, "2025-03-25", "00:00:00"}, {"2025/3/25 12:15 p.m.", YMD, "2025-03-25",
			"12:15:00"},
		{"20250110 0830", YMD, "", ""}, {"20250110", YMD, "2025-01-10", ""}, {"18/05/24", YMD, "2018-05-24", ""},
		{"2025-02-30", YMD, "", ""}, {"2025-01-10 25:00", YMD, "", ""}, {"2025-01-10 08:60", YMD, "", ""},
		{"2025-01-10 13:00 PM", YMD, "", ""}, {"10:30", YMD, "", "10:30:00"}, {"14.287", YMD, "", ""},
		{"1/2", DMY, "", ""},
	} {
		st, ok := scanStamp(c.text)
		date, clock := "", ""
		if ok && st.hasDate {
			if d, good := st.date(c.order); good {
				date = d.String()
			}
		}
		if ok && st.hasTime {
			clock = time.Date(2000, 1, 1, st.hour, st.minute, st.second, 0, time.UTC).Format("15:04:05")
		}
		if date != c.date || clock != c.clock {
			t.Errorf("%q: %q %q, want %q %q", c.text, date, clock, c.date, c.clock)
		}
	}
}

// Requirement D2: zones at -08, -03:30, +00, +13 and both clock changes; the
// oracle is time.Date with its normalisation.
func TestLocalInstant(t *testing.T) {
	for _, name := range []string{"America/Vancouver", "America/St_Johns", "Europe/London", "Pacific/Tongatapu",
		"Australia/Lord_Howe"} {
		loc := zone(t, name)
		rapid.Check(t, func(rt *rapid.T) {
			day := civil.Of(2025, 1, 1).AddDays(rapid.IntRange(0, 364).Draw(rt, "day"))
			minute := rapid.IntRange(0, 1439).Draw(rt, "minute")
			st := stamp{hour: minute / 60, minute: minute % 60}
			got, found := localInstant(day, st, loc)
			y, m, d := day.YMD()
			want := time.Date(y, m, d, st.hour, st.minute, 0, 0, loc)
			wall := func(x time.Time) bool {
				x = x.In(loc)
				return civil.In(x, loc) == day && x.Hour() == st.hour && x.Minute() == st.minute
			}
			n := 0
			for _, shift := range []time.Duration{-time.Hour, -30 * time.Minute, 0, 30 * time.Minute, time.Hour} {
				if wall(want.Add(shift)) {
					n++
				}
			}
			if n != found || found == 1 && !got.Equal(want) {
				rt.Fatalf("%s %s: %d instants, want %d; %v %v", name, day, found, n, got, want)
			}
		})
	}
}

func TestHeaderZone(t *testing.T) {
	for _, c := range []struct {
		text string
		sec  int
		ok   bool
	}{
		{"Date Time, GMT-04:00", -14400, true}, {"Date Time, GMT-0330", -12600, true}, {"UTC_Date_&_Time", 0, true},
		{"Date-Time (UTC Standard Time)", 0, true}, {"Central Standard Time", -21600, true},
		{"Date (EST)", -18000, true},
		{"UTC+13", 46800, true}, {"Date Time", 0, false}, {"best time", 0, false}, {"GMT+99:00", 0, false},
	} {
		if sec, ok := headerZone(c.text); sec != c.sec && ok || ok != c.ok {
			t.Errorf("%q: %d %v, want %d %v", c.text, sec, ok, c.sec, c.ok)
		}
	}
}

func TestMeaningOf(t *testing.T) {
	for _, c := range []struct {
		name string
		q    Quantity
		unit string
		air  bool
	}{
		{"Water Temp, °C (LGR S/N: 10246242)", Temperature, UnitCel, false}, {"Air Temp, °C", Temperature, UnitCel,
			true},
		{"Temp.F ", Temperature, UnitDegF, false}, {"tmean_c", Temperature, UnitCel, false},
		{"T (deg C)", Temperature, UnitCel, false},
		{"Wassertemp.(vor Ort) [°C] (-1.0 m ü. Grund)", Temperature, UnitCel, false}, {"temp", Temperature, "", false},
		{"Température de l'eau (°C)", Temperature, UnitCel, false}, {"DO (mg/l)", OxygenMgL, UnitMgL, false},
		{"O2-Sättigungsindex [%]", OxygenPercent, UnitPercent, false}, {"DO Percent Sat, %", OxygenPercent, UnitPercent,
			false},
		{"Abs Pres, psi", Pressure, "[psi]", false}, {"LF (20 °C) vor Ort [µS/cm]", "", "", false},
		{"SiO2 [mg/l] (0.0 m Tiefe)", "", "", false},
		{"Batt, V (LGR S/N: 1)", "", "", false}, {"n_readings", "", "", false}, {"Browns", "", "", false},
	} {
		m := meaningOf(c.name)
		if m.quantity != c.q || m.unit != c.unit || c.q != "" && (m.air != c.air || m.skip) {
			t.Errorf("%q: %+v", c.name, m)
		}
	}
}

func TestQuality(t *testing.T) {
	start := time.Date(2025, 1, 10, 0, 0, 0, 0, time.UTC)
	series := func(v ...float64) []Reading {
		rs := make([]Reading, len(v))
		for i := range v {
			rs[i] = Reading{At: start.Add(time.Duration(i) * 30 * time.Minute), Value: v[i], Quality: Good}
		}
		return rs
	}
	reasons := func(rs []Reading) string {
		var out []string
		for _, r := range rs {
			out = append(out, strings.TrimPrefix(r.Reason, "ingest.suspect."))
		}
		return strings.Join(out, ",")
	}
	for _, c := range []struct {
		v    []float64
		want string
	}{
		{[]float64{7, 7.1, 35, 7.2}, ",,spike,"}, {[]float64{7, 11, 11.2, 7}, ",spike,spike,"},
		{[]float64{7, 12, 12.1, 12.2, 12.3}, ",,,,"}, {[]float64{7, -9, 46, 7.1}, ",impossible,impossible,"},
		{[]float64{0.1, -0.3, -0.8}, ",,below_freezing"}, {[]float64{7, math.Nextafter(10, 0), 7}, ",,"},
	} {
		rs := series(c.v...)
		DefaultQualityLimits().mark(rs, Temperature)
		if got := reasons(rs); got != c.want {
			t.Errorf("%v: %q, want %q", c.v, got, c.want)
		}
	}
	for _, c := range []struct {
		value float64
		n     int
		stuck bool
	}{{7.5, 21, true}, {7.5, 20, false}, {0.1, 50, false}} {
		v := []float64{3}
		for range c.n {
			v = append(v, c.value)
		}
		rs := series(append(v, 4)...)
		l := DefaultQualityLimits()
		l.Spike = 0
		l.mark(rs, Temperature)
		if got := rs[c.n/2].Reason == ReasonStuck; got != c.stuck || rs[0].Reason != "" {
			t.Errorf("%d readings of %g: stuck %v", c.n, c.value, got)
		}
	}
}
