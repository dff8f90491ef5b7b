package logbook

import (
	"reddside/internal/civil"
	"reddside/internal/units"
)

// DoseUnit is what the dose of a treatment is counted in.
type DoseUnit string

// The units of a dose.
const (
	DoseMgL     DoseUnit = "mg_l"
	DoseGL      DoseUnit = "g_l"
	DoseMlL     DoseUnit = "ml_l"
	DosePercent DoseUnit = "percent"
	DoseMgKg    DoseUnit = "mg_kg" // of fish, in food
)

// DoseUnits lists the units of a dose in the order of choice lists.
func DoseUnits() []DoseUnit { return []DoseUnit{DoseMgL, DoseGL, DoseMlL, DosePercent, DoseMgKg} }

// MessageKey returns the catalogue key of the unit.
func (u DoseUnit) MessageKey() string { return "dose_unit." + string(u) }

// Treated is what a treatment was. Only an event of kind Treatment has it; what is
// empty was not said.
type Treated struct {
	Product           string
	Purpose           string
	Dose              units.Optional[float64] // in DoseUnit
	DoseUnit          DoseUnit
	Minutes           units.Optional[float64] // how long eggs or fish were in it
	AllowedBy         string                  // a role or an office that allowed it
	DaysBeforeRelease units.Optional[int]     // whole days that must pass before release, by label or permit
}

const (
	maxDose     = 100_000
	maxTreatMin = 30 * 24 * 60 // a bath of thirty days
	maxWaitDays = 365
)

func (e *Event) validateTreated(add func(field, key string, args Args)) {
	v := &e.Treated
	if e.Kind != Treatment {
		if *v != (Treated{}) {
			add("product", "treatment.other_kind", nil)
		}
		return
	}
	if v.Product == "" {
		add("product", "treatment.product_empty", nil)
	}
	if x, ok := v.Dose.Get(); ok && (!units.Finite(x) || x <= 0 || x > maxDose) {
		add("dose", "number.between", Args{"Min": 0.001, "Max": float64(maxDose)})
	}
	switch {
	case v.Dose.OK && v.DoseUnit == "":
		add("dose_unit", "treatment.unit_empty", nil)
	case !v.Dose.OK && v.DoseUnit != "":
		add("dose", "treatment.dose_empty", nil)
	}
	if x, ok := v.Minutes.Get(); ok && (!units.Finite(x) || x <= 0 || x > maxTreatMin) {
		add("minutes", "number.between", Args{"Min": 0.1, "Max": float64(maxTreatMin)})
	}
	if n, ok := v.DaysBeforeRelease.Get(); ok && (n < 0 || n > maxWaitDays) {
		add("days_before_release", "number.whole_between", Args{"Min": 0, "Max": maxWaitDays})
	}
}

// TooEarly returns the treatment whose days before release are not over on a day,
// nil when there is none. Of several it is the one that ends last.
func (s *Season) TooEarly(on civil.Date) *Event {
	var last *Event
	for i := range s.Events {
		e := &s.Events[i]
		if !e.Treated.DaysBeforeRelease.OK || e.On.After(on) || !e.FreeOn().After(on) {
			continue
		}
		if last == nil || e.FreeOn().After(last.FreeOn()) {
			last = e
		}
	}
	return last
}

// FreeOn is the first day on which fish may be released after a treatment.
func (e *Event) FreeOn() civil.Date { return e.On.AddDays(e.Treated.DaysBeforeRelease.V) }
