package units

import (
	"encoding/json"
	"math"
	"testing"
)

// Definitions: 1 C = 1.8 F + 32; examples from the International Temperature
// Scale's fixed points as every school book prints them.
func TestTemperatureConversion(t *testing.T) {
	for f, want := range map[Fahrenheit]Celsius{32: 0, 212: 100, 50: 10, 41: 5, -40: -40} {
		if got := f.Celsius(); math.Abs(float64(got-want)) > 1e-12 {
			t.Errorf("%v F = %v C, want %v", f, got, want)
		}
		if got := want.Fahrenheit(); math.Abs(float64(got-f)) > 1e-12 {
			t.Errorf("%v C = %v F, want %v", want, got, f)
		}
	}
}

// Requirement L9: every 0.1 F from 32.0 to 100.0 comes back as typed when
// Celsius keeps at least two decimals.
func TestEveryTenthFahrenheitComesBack(t *testing.T) {
	for i := 320; i <= 1000; i++ {
		typed := float64(i) / 10
		c := Celsius(Round(float64(DegF.ToCelsius(typed)), 2))
		if got := Round(DegF.FromCelsius(c), 1); got != typed {
			t.Fatalf("%.1f F came back as %.1f", typed, got)
		}
	}
}

func TestOptionalTellsAbsentFromZero(t *testing.T) {
	type row struct {
		Dead Optional[int] `json:"dead"`
	}
	var r row
	if err := json.Unmarshal([]byte(`{"dead":0}`), &r); err != nil || !r.Dead.OK || r.Dead.V != 0 {
		t.Errorf("0 must be present: %+v %v", r, err)
	}
	if err := json.Unmarshal([]byte(`{"dead":null}`), &r); err != nil || r.Dead.OK {
		t.Errorf("null must be absent: %+v %v", r, err)
	}
	b, _ := json.Marshal(row{})
	if string(b) != `{"dead":null}` {
		t.Errorf("absent must be written as null, got %s", b)
	}
}
