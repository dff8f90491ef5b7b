package words

import (
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/water"
)

// kitIons is the mass of what a kit counts per mass of its nitrogen.
var kitIons = map[logbook.KitBasis]water.Ion{logbook.KitAsN: 1, logbook.KitAsNH3: water.NH3,
	logbook.KitAsNH4: water.NH4}

// KitAsN turns a figure of a kit into total ammonia as N. A kit of which nobody
// told is taken to count nitrogen, which judges the water more strictly.
func KitAsN(v units.MgPerL, basis logbook.KitBasis) units.MgPerL {
	if ion, ok := kitIons[basis]; ok {
		return ion.AsN(v)
	}
	return v
}

// KitFigure is the figure that a kit shows for total ammonia as N, without the
// noise of the conversion.
func KitFigure(n units.MgPerL, basis logbook.KitBasis) units.MgPerL {
	if ion, ok := kitIons[basis]; ok {
		return units.MgPerL(units.Round(float64(ion.FromN(n)), 6))
	}
	return n
}
