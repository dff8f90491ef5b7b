package logbook

import (
	"math"
	"testing"

	"reddside/internal/units"
)

// Requirements L2 to L4 and F17; the ambiguity of 1,500 is from the Language
// Portal of Canada (read).
func TestParseDecimal(t *testing.T) {
	for s, want := range map[string]float64{
		"7.5": 7.5, "7,5": 7.5, " 7,5 ": 7.5, "\u00a07.5\u202f": 7.5, "-0,5": -0.5, "−0.5": -0.5, "+3": 3, "0": 0,
		"7.": 7, ".5": 0.5, "\u200e7.5": 7.5,
	} {
		if got, key := ParseDecimal(s); key != "" || got != want {
			t.Errorf("%q = %v %q, want %v", s, got, key, want)
		}
	}
	for s, want := range map[string]string{
		"": "number.not", "abc": "number.not", "7.5.1": "number.ambiguous", "1.500,0": "number.ambiguous",
		"7 5": "number.not", "--5": "number.not",
		"1e5": "number.not", "NaN": "number.not", "Inf": "number.not", "0x10": "number.not", "٧": "number.not",
		"-": "number.not",
	} {
		if v, key := ParseDecimal(s); key != want {
			t.Errorf("%q = %v %q, want %q", s, v, key, want)
		}
	}
}

func TestParseCount(t *testing.T) {
	for s, want := range map[string]int{"0": 0, " 12 ": 12, "200": 200, "007": 7} {
		if n, key := ParseCount(s); key != "" || n != want {
			t.Errorf("%q = %d %q", s, n, key)
		}
	}
	for s, want := range map[string]string{
		"1,500": "number.count_separator", "1.500": "number.count_separator", "1 500": "number.count_separator",
		"1\u00a0500": "number.count_separator",
		"-3":         "number.negative", "three": "number.not_whole", "": "number.not_whole",
		"3.5":         "number.count_separator",
		"99999999999": "number.not_whole",
	} {
		if n, key := ParseCount(s); key != want {
			t.Errorf("%q = %d %q, want %q", s, n, key, want)
		}
	}
}

func TestParseTemperature(t *testing.T) {
	cases := []struct {
		in   string
		v    float64
		unit units.TemperatureUnit
	}{
		{"7.5", 7.5, units.Cel}, {"7,5", 7.5, units.Cel}, {"45.5 F", 45.5, units.DegF}, {"45,5°f", 45.5, units.DegF},
		{"7.5 °C", 7.5, units.Cel},
		{"7.5C", 7.5, units.Cel}, {"7.5 degrees", 7.5, units.Cel}, {"45 fahrenheit", 45, units.DegF},
		{"45.5 ℉", 45.5, units.DegF}, {"45.5 [degF]", 45.5, units.DegF},
	}
	for _, c := range cases {
		v, u, key := ParseTemperature(c.in, units.Cel)
		if key != "" || v != c.v || u != c.unit {
			t.Errorf("%q = %v %v %q", c.in, v, u, key)
		}
	}
	if _, u, _ := ParseTemperature("45.5", units.DegF); u != units.DegF {
		t.Error("a bare number takes the unit of the site")
	}
	if _, _, key := ParseTemperature("warm", units.Cel); key == "" {
		t.Error("words are not a temperature")
	}
}

func FuzzNumbers(f *testing.F) {
	for _, s := range []string{"7.5", "7,5", "1,500", "45.5 F", "−0.5", "\u202f7", "1e309"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if v, key := ParseDecimal(s); key == "" && (math.IsNaN(v) || math.IsInf(v, 0)) {
			t.Fatalf("%q gave %v", s, v)
		}
		if n, key := ParseCount(s); key == "" && n < 0 {
			t.Fatalf("%q gave %d", s, n)
		}
		if v, u, key := ParseTemperature(s, units.Cel); key == "" && (!units.Finite(v) || !u.Valid()) {
			t.Fatalf("%q gave %v %v", s, v, u)
		}
	})
}
