package form

import (
	"reddside/internal/i18n"
)

// Quantity writes a number with its unit. Calculators answer in the units of
// their parameters' names, so Celsius stays Celsius.
func Quantity(p *i18n.Printer, v float64, unit string) string {
	switch unit {
	case "":
		return p.Sig(v)
	case "Cel", "K":
		unit = "°C"
	}
	return p.Sig(v) + "\u00a0" + unit
}
