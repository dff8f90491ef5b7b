package care_test

import (
	"math"
	"testing"

	"reddside/internal/care"
	"reddside/internal/logbook"
)

// 200 eggs in a basket of a litre without flow at 10 C: the oxygen is taken out
// minute by minute, at 0.0270 mg an egg and hour (read), from 11.29 (printed
// saturation) to 5 mg/L. In the whole tank it would last for days.
func TestBasketWithoutFlow(t *testing.T) {
	level, minutes := 11.29, 0
	for ; level > 5; minutes++ {
		level -= 200 * 0.0270 / 60
	}
	h, err := care.BasketHours(200, 10, 11.29, 5)
	if err != nil || math.Abs(h-float64(minutes)/60) > 0.02 || h > 2 {
		t.Errorf("%v hours, by the minute %v; %v", h, float64(minutes)/60, err)
	}
}

func ids(list []care.Step) map[string]bool {
	out := map[string]bool{}
	for _, s := range list {
		out[s.ID] = true
	}
	return out
}

// In a cold room nothing cools, and nobody turns the heating down; eggs in a basket
// are moved, but not in their tender days.
func TestFailureStepsFitTheTank(t *testing.T) {
	cold := ids(care.FailureSteps(true, care.Situation{Stage: logbook.EyedEgg, Basket: true, Cold: true}))
	if cold["sealed_ice"] || cold["cover_cool"] || cold["slow_change"] || !cold["cover_warm"] || !cold["lift_basket"] ||
		cold["stop_food"] || !cold["stale_water"] {
		t.Error(cold)
	}
	warm := ids(care.FailureSteps(false, care.Situation{Stage: logbook.EyedEgg, Basket: true}))
	if !warm["sealed_ice"] || !warm["slow_change"] || warm["cover_warm"] || warm["lift_basket"] {
		t.Error(warm)
	}
	tender := ids(care.FailureSteps(true, care.Situation{Stage: logbook.GreenEgg, Basket: true, Tender: true}))
	if tender["lift_basket"] || !tender["stir_around"] {
		t.Error(tender)
	}
	if fry := ids(care.FailureSteps(true, care.Situation{Stage: logbook.Fry})); !fry["stop_food"] ||
		fry["lift_basket"] || fry["stir_around"] {
		t.Error(fry)
	}
}
