package care_test

import (
	"math"
	"testing"

	"reddside/internal/care"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

func some(v float64) units.Optional[units.Celsius] { return units.Some(units.Celsius(v)) }

// Eyed eggs at 16 C, setpoint 8, limit to act on 12 (Gunnes 1979): eight days at a
// degree a day would leave them four days above the limit.
func TestWarmEggsAreInsideTheirLimitTheSameDay(t *testing.T) {
	p := care.PlanCooling(care.Cooling{Now: 16, Setpoint: 8, ActHigh: some(12), ActLow: some(1),
		Stage: logbook.EyedEgg})
	if p.Today != 11.5 || p.Hours != 4.5 || p.PerDay != 1 || len(p.Days) != 4 || p.Days[0] != 10.5 || p.Days[3] != 8 {
		t.Errorf("%+v", p)
	}
	near := care.PlanCooling(care.Cooling{Now: 16, Setpoint: 8, ActHigh: some(12), Stage: logbook.EyedEgg,
		NearHatch: true})
	if near.Today != 11.5 || near.PerDay != 0.5 || len(near.Days) != 7 {
		t.Errorf("near hatching: %+v", near)
	}
	fry := care.PlanCooling(care.Cooling{Now: 17, Setpoint: 10, ActHigh: some(18), Stage: logbook.Fry})
	if fry.Today != 15 || fry.Hours != 0 || fry.PerDay != 2 || len(fry.Days) != 3 {
		t.Errorf("fry: %+v", fry)
	}
	if p := care.PlanCooling(care.Cooling{Now: 8.4, Setpoint: 8, ActHigh: some(12),
		Stage: logbook.EyedEgg}); p.Today != 8 || len(p.Days) != 0 || p.Hours != 0 {
		t.Errorf("almost there: %+v", p)
	}
	cold := care.PlanCooling(care.Cooling{Now: 0.5, Setpoint: 6, ActLow: some(1), ActHigh: some(12),
		Stage: logbook.EyedEgg})
	if cold.Today != 1.5 || len(cold.Days) != 5 {
		t.Errorf("cold: %+v", cold)
	}
}

// Whatever the start, tonight is inside the limits, no day moves more than the
// day's step, and the plan ends at the setpoint.
func TestNoPlanHoldsWaterPastItsLimit(t *testing.T) {
	for _, stage := range logbook.Stages() {
		for _, near := range []bool{false, true} {
			for now := 0.0; now <= 25; now += 0.25 {
				for goal := 3.0; goal <= 11; goal++ {
					c := care.Cooling{Now: units.Celsius(now), Setpoint: units.Celsius(goal), ActLow: some(1),
						ActHigh: some(12), Stage: stage, NearHatch: near}
					p := care.PlanCooling(c)
					if p.Today > 12 || p.Today < 1 || p.TooMuch {
						t.Fatalf("%+v: tonight %v", c, p.Today)
					}
					at, end := p.Today, p.Today
					for _, d := range p.Days {
						if math.Abs(float64(d-at)) > float64(p.PerDay)+1e-9 {
							t.Fatalf("%+v: %v to %v in a day", c, at, d)
						}
						at, end = d, d
					}
					if math.Abs(float64(end-c.Setpoint)) > 1e-9 {
						t.Fatalf("%+v ends at %v", c, end)
					}
				}
			}
		}
	}
}
