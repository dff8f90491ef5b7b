package water_test

import (
	"math"
	"testing"

	"reddside/internal/units"
	"reddside/internal/water"
)

// Nitrite 0.3 to 0.06 mg/L took 80 % of the tank at once. Each step is worked out
// here litre by litre: a litre of the mixed tank goes out, a litre of new water
// comes in only after the whole share has gone.
func TestChangeInSteps(t *testing.T) {
	p, err := water.PlanChange(0.3, 0, 0.06)
	if err != nil || !p.Reaches || p.Share > water.ChangeShare || len(p.Levels) != 5 {
		t.Fatalf("%+v, %v", p, err)
	}
	const litres = 200.0
	mg := 0.3 * litres
	for i, level := range p.Levels {
		left := litres
		for out := p.Share * litres; out > 1e-9; out -= math.Min(1, out) {
			take := math.Min(1, out)
			mg -= mg / left * take
			left -= take
		}
		if math.Abs(mg/litres-float64(level)) > 1e-6 {
			t.Errorf("after step %d: %v, by the litre %v", i+1, level, mg/litres)
		}
	}
	if last := float64(p.Levels[4]); math.Abs(last-0.06) > 1e-9 {
		t.Errorf("ends at %v", last)
	}
	for _, c := range []struct {
		now, fresh, target units.MgPerL
		reaches            bool
		steps              int
	}{{1, 0.395, 0.3, false, 0}, {1, 0.3, 0.3, false, 0}, {0.2, 0, 0.3, true, 0}, {1, 0, 0.7, true, 1},
		{1, 0, 0.49, true, 2}} {
		if p, err := water.PlanChange(c.now, c.fresh, c.target); err != nil || p.Reaches != c.reaches ||
			len(p.Levels) != c.steps {
			t.Errorf("%+v: %+v, %v", c, p, err)
		}
	}
}

// 0.14 g for 20 L of 1 mg/L chlorine cannot be weighed in a school; 14 mL of 10 g/L
// can be measured. 248.18 x 2 / 70.906 = 7.00 mg of crystals a mg.
func TestThiosulfateStock(t *testing.T) {
	d, err := water.Dechlorination(20, 1, false)
	if err != nil || math.Abs(d.StockML()-14) > 0.05 {
		t.Errorf("%v mL, %v", d.StockML(), err)
	}
}

// 200 L from 10 to 30 mg/L as CaCO3: 20 x 200 = 4000 mg, 40 mmol of CaCO3, which
// 80 mmol of NaHCO3 at 84.007 balance: 6.7 g.
func TestBicarbonateHasALimit(t *testing.T) {
	g, raise, err := water.BicarbonateStep(200, 10)
	if want := 2 * 4000 / 100.087 * 84.007 / 1000; err != nil || raise != 20 || math.Abs(float64(g)-want) > 0.01 {
		t.Errorf("%v g for %v, want %v; %v", g, raise, want, err)
	}
	if g, raise, _ := water.BicarbonateStep(200, 45); raise != 5 || g > 2 {
		t.Errorf("%v g for %v", g, raise)
	}
	if g, _, _ := water.BicarbonateStep(200, 60); g != 0 {
		t.Errorf("%v g though enough is there", g)
	}
}
