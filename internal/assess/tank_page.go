package assess

import (
	"reddside/internal/units"
)

func Celsius(v float64) units.Celsius { return units.Celsius(v) }
