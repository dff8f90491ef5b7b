package forecast

import (
	"testing"

	"reddside/internal/logbook"
	"reddside/internal/units"
)

// steadyFrom asks for the forecast of young eggs in water of one temperature.
func steadyFrom(sp logbook.Species, c units.Celsius) CalcInput {
	return CalcInput{Species: sp, StartOn: day0, DevelopmentIndex: units.Some(0.1), MeanTemperature: units.Some(c),
		Future: units.Some(c)}
}

// Eyed, hatch and swim-up come in that order at every temperature, in the calculators
// and in the planner: chinook has models of different sources, which cross.
func TestOrderOfLifeAtEveryTemperature(t *testing.T) {
	for _, sp := range logbook.AllSpecies() {
		for c := units.Celsius(0.5); c <= 30; c += 0.5 {
			r, err := AtConstant(sp, c)
			if err != nil {
				t.Fatal(err)
			}
			e, h, s := r.Events[Eyed].Days, r.Events[Hatch].Days, r.Events[SwimUp].Days
			if !e.OK || !h.OK || !s.OK || !(e.V < h.V && h.V < s.V) {
				t.Errorf("%s at %v C: eyed %v, hatch %v, swim-up %v", sp, c, e, h, s)
			}
			f, err := Calc(steadyFrom(sp, c))
			if err != nil {
				t.Fatal(err)
			}
			he, se := f.Events[Hatch].P50, f.Events[SwimUp].P50
			if he.OK && se.OK && !he.V.Before(se.V) {
				t.Errorf("%s at %v C: hatch %v, swim-up %v", sp, c, he.V, se.V)
			}
		}
	}
}

// Atlantic salmon eggs die at about 16 C (Ojanguren et al. 1999, abstract, read),
// brown trout's at 16 (Ojanguren and Brana 2003, read), nearly all coho's at 14 (Tang
// 1987, read); pink and chum at a constant 2 C (Murray and McPhail 1988, read).
func TestWaterInWhichEggsDie(t *testing.T) {
	for _, x := range []struct {
		sp   logbook.Species
		c    units.Celsius
		dies bool
	}{{logbook.AtlanticSalmon, 20, true}, {logbook.AtlanticSalmon, 16, true}, {logbook.AtlanticSalmon, 12, false},
		{logbook.BrownTrout, 16, true},
		{logbook.Coho, 14, true}, {logbook.Coho, 12, false}, {logbook.Pink, 2, true}, {logbook.Chum, 4, false},
		{logbook.Chinook, 20, true}} {
		r, err := AtConstant(x.sp, x.c)
		if err != nil || r.EggsDie != x.dies {
			t.Errorf("%s at %v C: die %v, want %v, %v", x.sp, x.c, r.EggsDie, x.dies, err)
		}
		f, err := Calc(steadyFrom(x.sp, x.c))
		if err != nil || f.EggsDie != x.dies {
			t.Errorf("%s at %v C: forecast says %v", x.sp, x.c, f.EggsDie)
		}
	}
	s := arrived(0.7, 10, 20)
	r := Compute(Input{Season: s, Today: day0.AddDays(2)})
	if r.Dying == nil || !r.Dying.Eggs || r.Notes[0].Key != "forecast.note.eggs_die" {
		t.Errorf("%+v", r.Notes)
	}
	s = arrived(0.7, 10, 7)
	if r := Compute(Input{Season: s, Today: day0.AddDays(9)}); r.Dying != nil {
		t.Errorf("%+v", r.Dying)
	}
}

// After "a few hatched" the window says since when, and is at hand.
func TestAFewHatchedIsABeginning(t *testing.T) {
	s := arrived(0.9, 8, 7)
	seen(s, 6, logbook.HatchedNone)
	seen(s, 7, logbook.HatchedFew)
	r := Compute(Input{Season: s, Today: day0.AddDays(7)})
	if r.Hatch.Begun != day0.AddDays(7) || r.Hatch.P90.Sub(r.Today) > 7 || r.StageOn(r.Today) != logbook.EyedEgg {
		t.Errorf("%+v", r.Hatch)
	}
	// Eggs that came unhatched at an index beyond the hatch are still to hatch.
	s = arrived(1.06, 1, 7)
	if r := Compute(Input{Season: s, Today: day0}); r.Hatch.BeforeStart || r.StageOn(day0) != logbook.EyedEgg {
		t.Errorf("delivered unhatched: %+v", r.Hatch)
	}
}
