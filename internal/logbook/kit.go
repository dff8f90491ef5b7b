package logbook

import (
	"unicode/utf8"

	"reddside/internal/units"
)

// KitBasis says what a test kit's figure for total ammonia counts.
type KitBasis string

// What kits count. Total ammonia is kept as nitrogen.
const (
	KitAsN   KitBasis = "N"
	KitAsNH3 KitBasis = "NH3"
	KitAsNH4 KitBasis = "NH4"
)

// KitBases lists what kits count.
func KitBases() []KitBasis { return []KitBasis{KitAsN, KitAsNH3, KitAsNH4} }

// Valid reports whether b is known.
func (b KitBasis) Valid() bool { return b == KitAsN || b == KitAsNH3 || b == KitAsNH4 }

// MessageKey returns the catalogue key of what is counted.
func (b KitBasis) MessageKey() string { return "kit.basis." + string(b) }

// Kit is the ammonia kit of a school. Nobody has to tell the same kit twice.
type Kit struct {
	ID     ID
	SiteID ID
	Name   string // as on the box
	Basis  KitBasis
	// Step is the printed gap between two colours; absent for a common colour card.
	Step units.Optional[units.MgPerL]
	Entry
}

// Known reports whether somebody told what the kit counts.
func (k Kit) Known() bool { return k.Basis.Valid() }

// Validate returns what is wrong with the kit.
func (k Kit) Validate() []Problem {
	out := validName("name", k.Name)
	if !k.Basis.Valid() {
		out = append(out, Problem{Field: "basis", Key: "choice.empty"})
	}
	if v, ok := k.Step.Get(); ok && (!units.Finite(v) || v < 0.001 || v > 10) {
		out = append(out, Problem{Field: "step_mg_l", Key: "number.between", Args: Args{"Min": 0.001, "Max": 10.0}})
	}
	if utf8.RuneCountInString(k.Reason) > maxNote {
		out = append(out, Problem{Field: "reason", Key: "entry.too_long", Args: Args{"Max": maxNote}})
	}
	return out
}
