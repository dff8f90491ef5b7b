package forecast

import (
	"testing"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// steady returns a season fertilised and placed on one day, with a check of one
// temperature on each of n days.
func steady(sp logbook.Species, n int, c units.Celsius) *logbook.Season {
	on := civil.MustParse("2025-10-01")
	s := &logbook.Season{ID: "own", Lot: logbook.Lot{Species: sp, FertilisedOn: on},
		Deliveries: []logbook.Delivery{{On: on, Count: 200, Stage: logbook.GreenEgg}}}
	for i := range n {
		s.Checks = append(s.Checks, logbook.Check{On: on.AddDays(i), Slot: logbook.Morning, Temperature: units.Some(c)})
	}
	return s
}

func TestAllSpecies(t *testing.T) {
	for _, sp := range logbook.AllSpecies() {
		s := steady(sp, 20, 8)
		r := Compute(Input{Season: s, Today: s.Checks[19].On})
		if !r.Ok() {
			t.Fatalf("%s: %s", sp, r.Reason)
		}
		for _, e := range Events() {
			w := r.Window(e)
			t.Logf("%s %s %v %v %v first %v last %v %+v", sp, e, w.P10, w.P50, w.P90, w.First, w.Last, w.Parts)
		}
		t.Log(r.Notes, len(r.Days))
	}
}

func BenchmarkCompute(b *testing.B) {
	s := steady(logbook.AtlanticSalmon, 180, 4)
	for b.Loop() {
		Compute(Input{Season: s, Today: civil.MustParse("2026-01-20")})
	}
}
