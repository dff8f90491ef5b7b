package biology_test

import (
	"errors"
	"math"
	"testing"

	"reddside/internal/biology"
	"reddside/internal/units"
)

func constant(t units.Celsius, days int) []units.Celsius {
	out := make([]units.Celsius, days)
	for i := range out {
		out[i] = t
	}
	return out
}

func wantRangeOf(t *testing.T, err error, quantity string) {
	t.Helper()
	var re units.RangeError
	if !errors.As(err, &re) || re.Quantity != quantity {
		t.Errorf("error = %v, want a RangeError for %s", err, quantity)
	}
}

// Worked outside this program from the published form with constants from
// memory: at 0.2 g, 0.6 % a day at 7 C, 1.2 at 8, 2.3 at 10, 3.5 at 12.
func TestElliottHurleyPercentPerDay(t *testing.T) {
	m := biology.ElliottHurleySalmon()
	for temp, want := range map[units.Celsius]float64{7: 0.6, 8: 1.2, 10: 2.3, 12: 3.5, 5: 0, 6: 0, 23: 0} {
		got, err := m.PercentPerDay(0.2, temp)
		if err != nil || math.Abs(got-want) > 0.05 {
			t.Errorf("%v C: %.3f %% (%v), want %v", temp, got, err, want)
		}
	}
}

// Elliott & Hurley (growth optimum 15.9 C, feeding 7 to 22.5 C; from memory)
// and the trout constants: growth peaks at the optimum and stops at both ends.
func TestGrowthPeaksAtTheOptimum(t *testing.T) {
	for _, m := range []biology.GrowthModel{biology.ElliottHurleySalmon(), biology.ElliottTrout()} {
		peak, _ := m.PercentPerDay(1, m.Optimum)
		if math.Abs(peak-m.C) > 1e-9 {
			t.Errorf("%s: at 1 g and the optimum %.4f, want C = %v", m.ID, peak, m.C)
		}
		for c := units.Celsius(0); c <= 30; c += 0.25 {
			g, err := m.PercentPerDay(1, c)
			if err != nil || g < 0 || g > peak {
				t.Errorf("%s at %v C: %v %v", m.ID, c, g, err)
			}
			if (c <= m.Lower || c >= m.Upper) && g != 0 {
				t.Errorf("%s at %v C grows %v outside its limits", m.ID, c, g)
			}
		}
	}
}

// The closed form for a constant temperature, as published:
// W = (W0^b + b c (T - TLIM) t / (100 (TM - TLIM)))^(1/b).
func TestWeightAfterIsTheClosedForm(t *testing.T) {
	want := math.Pow(math.Pow(0.2, 0.31)+0.31*3.53*(10-6.0)*60/(100*(15.94-6.0)), 1/0.31)
	got, err := biology.ElliottHurleySalmon().WeightAfter(0.2, constant(10, 60))
	if err != nil || math.Abs(float64(got)-want) > 1e-9 {
		t.Errorf("%v %v, want %v", got, err, want)
	}
	still, err := biology.ElliottHurleySalmon().WeightAfter(0.2, constant(4, 60))
	if err != nil || math.Abs(float64(still)-0.2) > 1e-12 {
		t.Errorf("at 4 C the weight went to %v %v", still, err)
	}
}

// Iwama & Tautz 1981 (formula read), worked outside this program: 0.18 g after
// 30 days is 0.47 g at 7 C, 0.65 at 10, 0.80 at 12.
func TestIwamaTautzUpperBound(t *testing.T) {
	for temp, want := range map[units.Celsius]float64{7: 0.47, 10: 0.65, 12: 0.80} {
		got, err := biology.IwamaTautzUpperBound(0.18, constant(temp, 30))
		if err != nil || math.Abs(float64(got)-want) > 0.006 {
			t.Errorf("%v C: %.4f g (%v), want %v", temp, got, err, want)
		}
		slower, _ := biology.ElliottHurleySalmon().WeightAfter(0.18, constant(temp, 30))
		if slower >= got {
			t.Errorf("%v C: %v is not below the upper bound %v", temp, slower, got)
		}
	}
}

// 10 C gives 16.4 mm a month (trade rule, from memory).
func TestLengthGain(t *testing.T) {
	got, err := biology.LengthGain(10)
	if err != nil || math.Abs(float64(got)*365.25/12-16.4) > 1e-9 {
		t.Errorf("%v %v", got, err)
	}
}

func TestGrowthRefusals(t *testing.T) {
	m := biology.ElliottHurleySalmon()
	nan := math.NaN()
	_, err := m.PercentPerDay(units.Grams(nan), 10)
	wantRangeOf(t, err, "fish_weight")
	_, err = m.PercentPerDay(0.2, 31)
	wantRangeOf(t, err, "temperature")
	_, err = m.WeightAfter(0.2, []units.Celsius{10, units.Celsius(nan)})
	wantRangeOf(t, err, "temperature")
	_, err = m.WeightAfter(300, constant(15, 10))
	wantRangeOf(t, err, "weight_after")
	_, err = biology.IwamaTautzUpperBound(0, constant(15, 10))
	wantRangeOf(t, err, "fish_weight")
	_, err = biology.LengthGain(-1)
	wantRangeOf(t, err, "temperature")
}
