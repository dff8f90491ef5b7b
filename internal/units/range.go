package units

import "fmt"

// RangeError says that a quantity lies outside the range a formula holds for.
// Calculators answer with it instead of a number they cannot stand behind.
// Quantity is a key for the catalogue ("temperature", "ph", ...), Unit a UCUM
// code or "" for a plain number. Value may be NaN or infinite.
type RangeError struct {
	Quantity         string
	Value, Low, High float64
	Unit             string
}

// Error describes the refusal for logs; pages use the catalogue.
func (e RangeError) Error() string {
	return fmt.Sprintf("%s %v %s is outside %v to %v", e.Quantity, e.Value, e.Unit, e.Low, e.High)
}

// CheckRange returns a RangeError when v is not a number from low to high,
// both ends included.
func CheckRange[T ~float64](quantity string, v T, low, high float64, unit string) error {
	if f := float64(v); !(f >= low && f <= high) {
		return RangeError{Quantity: quantity, Value: f, Low: low, High: high, Unit: unit}
	}
	return nil
}
