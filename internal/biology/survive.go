package biology

import "reddside/internal/units"

// Bound is a temperature that a stage does not live at for long, with where it is
// known from.
type Bound struct {
	At      units.Celsius
	Source  string
	Assumed bool // carried over from another species
}

// Water in which eggs and alevins die. "About 16" is read as at 16 and above.
var (
	ojanguren99 = "Ojanguren, Reyes-Gavilan and Munoz 1999, abstract (read): Atlantic salmon eggs live to about 16 C, hatched to 22 C"
	ojanguren03 = "Ojanguren and Brana 2003, abstract (read): no brown trout egg hatched at 16 and 18 C"
	tang        = "Tang et al. 1987, abstract (read): nearly all coho eggs die at 14 C and above, and below 1.3 C"
	murray      = "Murray and McPhail 1988, abstract (read): no pink or chum egg hatched at a constant 2 C"
)

// EggsDieAt returns the temperature at and above which the eggs of a species die.
// Salmon eggs bear more than those of trout and charr (Elliott and Elliott 2010,
// abstract, read), so their bound is a safe one for the species without a source.
func (d Development) EggsDieAt() Bound {
	switch d.Species {
	case "atlantic_salmon":
		return Bound{At: 16, Source: ojanguren99}
	case "brown_trout":
		return Bound{At: 16, Source: ojanguren03}
	case "coho":
		return Bound{At: 14, Source: tang}
	}
	return Bound{At: 16, Source: ojanguren99, Assumed: true}
}

// EggsDieBelow returns the temperature at and below which eggs kept there from
// fertilisation die, and false where none is known.
func (d Development) EggsDieBelow() (Bound, bool) {
	switch d.Species {
	case "coho":
		return Bound{At: 1.3, Source: tang}, true
	case "pink", "chum":
		return Bound{At: 2, Source: murray}, true
	}
	return Bound{}, false
}

// AlevinsDieAt returns the temperature at and above which hatched fish die.
func (d Development) AlevinsDieAt() Bound {
	return Bound{At: 22, Source: ojanguren99, Assumed: d.Species != "atlantic_salmon"}
}
