package water_test

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"reddside/internal/units"
	"reddside/internal/water"
)

func TestChangeFraction(t *testing.T) {
	for _, c := range []struct{ now, fresh, target, want float64 }{
		{1, 0, 0.4, 0.6}, {1, 0.2, 0.4, 0.75}, {0.4, 0, 0.4, 0}, {0.3, 0, 0.4, 0}, {1, 0.4, 0.4, 1}, {0.3, 2, 0.4, 0},
	} {
		got := must(water.ChangeFraction(units.MgPerL(c.now), units.MgPerL(c.fresh), units.MgPerL(c.target)))(t)
		if math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%+v: %v", c, got)
		}
	}
	for _, fresh := range []units.MgPerL{0.5, 1, 2} {
		_, err := water.ChangeFraction(1, fresh, 0.4)
		var re water.RangeError
		if !errors.As(err, &re) || re.Quantity != "new_water" || re.Low != 0 || re.High != 0.4 {
			t.Errorf("new water %v cannot reach 0.4: %v", fresh, err)
		}
	}
	_, err := water.ChangeFraction(units.MgPerL(math.NaN()), 0, 0.4)
	wantRange(t, err, "now")
	_, err = water.ChangeFraction(1, -1, 0.4)
	wantRange(t, err, "new_water")
	_, err = water.ChangeFraction(1, 0, units.MgPerL(math.Inf(1)))
	wantRange(t, err, "target")
}

// One change of the answered fraction lands on the target.
func TestChangeFractionReachesTheTarget(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		target := units.MgPerL(rapid.Float64Range(0, 10).Draw(t, "target"))
		fresh := units.MgPerL(rapid.Float64Range(0, float64(target)).Draw(t, "fresh"))
		now := target + units.MgPerL(rapid.Float64Range(0.001, 10).Draw(t, "above"))
		f, err := water.ChangeFraction(now, fresh, target)
		if err != nil || f < 0 || f > 1 {
			t.Fatalf("fraction %v (%v)", f, err)
		}
		after, err := water.AfterChanges(now, fresh, f, 1)
		if err != nil || math.Abs(float64(after-target)) > 1e-9 {
			t.Fatalf("after %v (%v), target %v", after, err, target)
		}
	})
}

// Five changes of 20 % remove 67 %, not 100 % (0.8^5 = 0.328); a daily gain of
// 0.1 with 20 % a day peaks at 0.5.
func TestRepeatedChanges(t *testing.T) {
	if got := must(water.AfterChanges(1, 0, 0.2, 5))(t); math.Abs(1-float64(got)-0.67) > 0.005 {
		t.Errorf("%v left after five changes", got)
	}
	peak := must(water.SteadyPeak(0.1, 0.2))(t)
	level := units.MgPerL(0)
	for range 200 {
		level = must(water.AfterChanges(level, 0, 0.2, 1))(t) + 0.1
	}
	if math.Abs(float64(peak-level)) > 1e-9 || math.Abs(float64(peak)-0.5) > 1e-9 {
		t.Errorf("peak %v, simulated %v, want 0.5", peak, level)
	}
	_, err := water.AfterChanges(1, 0, 1.1, 1)
	wantRange(t, err, "fraction")
	_, err = water.SteadyPeak(1, 0)
	wantRange(t, err, "fraction")
	_, err = water.Continuous(1, 0, 0, 1, 1)
	wantRange(t, err, "volume")
}

// Acid tank water hides ammonia. Half of it changed for harder tap water halves
// the total, but at the tap's pH the un-ionised part rises: that must be said.
func TestEffectOfChangeWarnsOfPH(t *testing.T) {
	e := must(water.EffectOfChange(water.Water{T: 8, PH: 6.6, TAN: 2}, water.Water{T: 8, PH: 8, TAN: 0}, 0.5))(t)
	before := must(water.UnionisedAmmonia(2, 8, 6.6))(t)
	if e.TAN != 1 || e.WorstPH != 8 || e.Ammonia.NH3 <= before.NH3 ||
		!slices.Contains(e.Cautions, water.CautionPHAmmonia) {
		t.Errorf("%+v", e)
	}
	calm := must(water.EffectOfChange(water.Water{T: 8, PH: 7.5, TAN: 1}, water.Water{T: 9, PH: 7.5}, 0.2))(t)
	if math.Abs(float64(calm.T)-8.2) > 1e-9 || len(calm.Cautions) != 0 {
		t.Errorf("%+v", calm)
	}
	big := must(water.EffectOfChange(water.Water{T: 8, PH: 7.5, TAN: 1}, water.Water{T: 14, PH: 7.5}, 0.6))(t)
	if !slices.Equal(big.Cautions, []water.Caution{water.CautionLargeChange, water.CautionTemperature}) {
		t.Errorf("%+v", big)
	}
	_, err := water.EffectOfChange(water.Water{T: 8, PH: 7}, water.Water{T: 8, PH: math.NaN()}, 0.2)
	wantRange(t, err, "ph")
}

// 7.0 mg pentahydrate per mg chlorine (read); 4.46 anhydrous from the molar
// masses; one N per Cl2 is 0.198 mg per mg.
func TestDechlorination(t *testing.T) {
	d := must(water.Dechlorination(40, 1, true))(t)
	if math.Abs(float64(d.Pentahydrate)-0.28) > 0.001 || math.Abs(float64(d.Anhydrous)-0.1784) > 0.0005 {
		t.Errorf("%+v", d)
	}
	if !slices.Contains(d.Cautions, water.CautionAdultChemicals) ||
		!slices.Contains(d.Cautions, water.CautionChloramine) {
		t.Errorf("cautions %v", d.Cautions)
	}
	if got := must(water.ChloramineN(1))(t); math.Abs(float64(got)-0.198) > 0.001 {
		t.Errorf("chloramine leaves %v N, want 0.198", got)
	}
	if got := must(water.Dechlorination(40, 0, false))(t); got.Pentahydrate != 0 {
		t.Errorf("a dose without chlorine: %+v", got)
	}
	_, err := water.Dechlorination(40, 11, false)
	wantRange(t, err, "chlorine")
	_, err = water.Dechlorination(0, 1, false)
	wantRange(t, err, "volume")
	_, err = water.ChloramineN(units.MgPerL(math.NaN()))
	wantRange(t, err, "chlorine")
	_, err = water.ChloramineNH3InTank(1, 2)
	wantRange(t, err, "fraction")
}

// 38 mL of a 1 % product per US gallon (read); no bath above 400 mg/L.
func TestIodophor(t *testing.T) {
	got := must(water.IodophorStock(water.IodophorTarget, units.LitresPerUSGallon, 1))(t)
	if math.Abs(got-38) > 0.5 {
		t.Errorf("%v mL, want 38", got)
	}
	_, err := water.IodophorStock(800, 10, 1)
	wantRange(t, err, "iodine")
	_, err = water.IodophorStock(100, 10, 0)
	wantRange(t, err, "stock_percent")
	if water.IodophorPH(7) != nil {
		t.Error("pH 7 was refused")
	}
	wantRange(t, water.IodophorPH(5.5), "ph")
	if !slices.Contains(water.IodophorCautions(), water.CautionNotHatching) {
		t.Error("the caution about hatching eggs is missing")
	}
}

// von Bayer's printed table (from memory): per 12 inches, eggs per US quart;
// metric figures at 4.5 and 5.5 mm worked outside this program.
func TestEggCounts(t *testing.T) {
	for n, want := range map[int]float64{36: 1833, 50: 4895, 60: 8460} {
		d := must(water.EggDiameter(304.8, n))(t)
		if got := must(water.EggsPerQuart(d))(t); math.Abs(got/want-1) > 0.005 {
			t.Errorf("%d per 12 in: %.0f a quart, want %.0f", n, got, want)
		}
	}
	for d, want := range map[units.Millimetres]float64{4.5: 12860, 5.5: 7040} {
		if got := must(water.EggsPerLitre(d))(t); math.Abs(got/want-1) > 0.005 {
			t.Errorf("%v mm: %.0f a litre, want %.0f", d, got, want)
		}
	}
	bulk := must(water.EggsPerLitre(5))(t)
	solid := must(water.EggsByDisplacement(1000, 5))(t)
	if r := solid / bulk; math.Abs(r-1.63) > 0.01 {
		t.Errorf("solid to bulk %.3f, want 1.63", r)
	}
	_, err := water.EggDiameter(304.8, 0)
	wantRange(t, err, "eggs")
	_, err = water.EggDiameter(304.8, 10)
	wantRange(t, err, "egg_diameter")
	_, err = water.EggsPerLitre(units.Millimetres(math.NaN()))
	wantRange(t, err, "egg_diameter")
	_, err = water.CountByWeight(92, 25, 0)
	wantRange(t, err, "sample_weight")
}
