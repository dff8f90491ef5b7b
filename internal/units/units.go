// Package units holds the physical quantities of the logbook as named float64
// types, so that swapped arguments fail to compile, and the only conversions
// between units in the program.
package units

import (
	"bytes"
	"encoding/json"
	"math"
)

// Quantities in their canonical unit.
type (
	Celsius      float64 // temperature, degrees Celsius
	Fahrenheit   float64 // temperature, degrees Fahrenheit
	CelsiusDelta float64 // temperature difference, Celsius degrees
	ThermalUnits float64 // degree-days: one Celsius degree above 0 for one day
	MgPerL       float64 // concentration, mg/L
	Litres       float64 // volume, L
	Grams        float64 // mass, g
	Millimetres  float64 // length, mm
	Metres       float64 // altitude, m
	Kilopascal   float64 // pressure, kPa
)

// Conversion constants; all are exact by definition.
const (
	LitresPerUSGallon       = 3.785411784
	LitresPerImperialGallon = 4.54609
	KilopascalPerAtmosphere = 101.325
	MMHgPerAtmosphere       = 760.0
)

// Celsius converts a temperature: C = (F - 32) / 1.8.
func (f Fahrenheit) Celsius() Celsius { return Celsius((f - 32) / 1.8) }

// Fahrenheit converts a temperature: F = 1.8 C + 32.
func (c Celsius) Fahrenheit() Fahrenheit { return Fahrenheit(1.8*c + 32) }

// Fahrenheit converts a difference: no +32 for differences.
func (d CelsiusDelta) Fahrenheit() float64 { return 1.8 * float64(d) }

// FahrenheitUnits converts degree-days C to the trade's Fahrenheit units
// (daily units are T_F - 32, so one degree-day C is 1.8 of them).
func (u ThermalUnits) FahrenheitUnits() float64 { return 1.8 * float64(u) }

// ThermalUnitsFromFahrenheit converts accumulated T_F - 32 to degree-days C.
func ThermalUnitsFromFahrenheit(u float64) ThermalUnits { return ThermalUnits(u / 1.8) }

// MMHg converts a pressure to millimetres of mercury.
func (p Kilopascal) MMHg() float64 {
	return float64(p) / KilopascalPerAtmosphere * MMHgPerAtmosphere
}

// FromMMHg converts a pressure from millimetres of mercury.
func FromMMHg(p float64) Kilopascal {
	return Kilopascal(p / MMHgPerAtmosphere * KilopascalPerAtmosphere)
}

// TemperatureUnit says how a temperature was typed or is shown. The values are
// UCUM codes.
type TemperatureUnit string

// The two temperature units of the program.
const (
	Cel  TemperatureUnit = "Cel"
	DegF TemperatureUnit = "[degF]"
)

// Valid reports whether u is a known unit.
func (u TemperatureUnit) Valid() bool { return u == Cel || u == DegF }

// ToCelsius converts a value typed in unit u.
func (u TemperatureUnit) ToCelsius(v float64) Celsius {
	if u == DegF {
		return Fahrenheit(v).Celsius()
	}
	return Celsius(v)
}

// FromCelsius converts a value for showing in unit u.
func (u TemperatureUnit) FromCelsius(c Celsius) float64 {
	if u == DegF {
		return float64(c.Fahrenheit())
	}
	return float64(c)
}

// Optional is a value that may be absent. Absent is not zero: a dead count of
// 0 was counted, an absent one was not.
type Optional[T any] struct {
	V  T
	OK bool
}

// Some wraps a value that is present.
func Some[T any](v T) Optional[T] { return Optional[T]{v, true} }

// None is an absent value.
func None[T any]() Optional[T] { return Optional[T]{} }

// Or returns the value, or def when it is absent.
func (o Optional[T]) Or(def T) T {
	if o.OK {
		return o.V
	}
	return def
}

// Get returns the value and whether it is present.
func (o Optional[T]) Get() (T, bool) { return o.V, o.OK }

// MarshalJSON writes null for an absent value.
func (o Optional[T]) MarshalJSON() ([]byte, error) {
	if !o.OK {
		return []byte("null"), nil
	}
	return json.Marshal(o.V)
}

// UnmarshalJSON reads null as an absent value.
func (o *Optional[T]) UnmarshalJSON(b []byte) error {
	if bytes.Equal(bytes.TrimSpace(b), []byte("null")) {
		*o = Optional[T]{}
		return nil
	}
	o.OK = true
	return json.Unmarshal(b, &o.V)
}

// IsZero lets the omitzero JSON option leave out absent values.
func (o Optional[T]) IsZero() bool { return !o.OK }

// Finite reports whether v is a number that can be stored and shown.
func Finite[T ~float64](v T) bool {
	return !math.IsNaN(float64(v)) && !math.IsInf(float64(v), 0)
}

// Round rounds v to n decimals, halves away from zero.
func Round(v float64, n int) float64 {
	p := math.Pow10(n)
	return math.Round(v*p) / p
}
