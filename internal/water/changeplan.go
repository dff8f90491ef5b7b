package water

import (
	"math"

	"reddside/internal/units"
)

// ChangeShare is the largest share of the tank that is replaced at once: 25 to
// 30 % with a test between (from memory). A larger change moves temperature and pH
// with it.
const ChangeShare = 0.3

// ChangePlan is a water change in equal steps of at most ChangeShare.
type ChangePlan struct {
	Share  float64        // of the tank, at each step; 0 when none is needed
	Levels []units.MgPerL // expected after each step
	// Reaches is false when the new water itself is at or above the target: no
	// number of changes comes down to it. Levels is empty then.
	Reaches bool
}

// PlanChange returns the steps that bring a concentration down to a target with
// new water of a known concentration, all in mg/L of the same substance.
func PlanChange(now, newWater, target units.MgPerL) (ChangePlan, error) {
	err := firstOutside(concentration("now", now), concentration("new_water", newWater),
		concentration("target", target))
	switch {
	case err != nil:
		return ChangePlan{}, err
	case now <= target:
		return ChangePlan{Reaches: true}, nil
	case newWater >= target:
		return ChangePlan{}, nil
	}
	whole := float64((now - target) / (now - newWater))
	n := max(1, int(math.Ceil(math.Log(1-whole)/math.Log(1-ChangeShare)-1e-9)))
	p := ChangePlan{Reaches: true, Share: 1 - math.Pow(1-whole, 1/float64(n))}
	for i := 1; i <= n; i++ {
		c, err := AfterChanges(now, newWater, p.Share, i)
		if err != nil {
			return ChangePlan{}, err
		}
		p.Levels = append(p.Levels, c)
	}
	return p, nil
}

// Thiosulfate stock: a school scale cannot weigh 0.14 g for a bucket, so it is
// made up once and measured out.
const ThiosulfateStock = 10.0 // g of crystals in a litre

// StockML returns the millilitres of a solution of ThiosulfateStock (of the
// crystals, the pentahydrate) that hold a dose.
func (t Thiosulfate) StockML() float64 { return float64(t.Pentahydrate) / ThiosulfateStock * 1000 }

// Alkalinity that is wanted, mg/L as CaCO3: at least 20 (US EPA 1986, read), and
// no more than AlkalinityRaise at once, since pH rises with it (local choice).
const (
	AlkalinityLow   units.MgPerL = 20
	AlkalinityAim   units.MgPerL = 50
	AlkalinityRaise units.MgPerL = 20
)

// BicarbonateStep returns the grams of NaHCO3 (baking soda) that one day may put
// into a volume, and how far that raises its alkalinity: up to AlkalinityAim, by at
// most AlkalinityRaise. It is 0 at or above the aim.
func BicarbonateStep(v units.Litres, now units.MgPerL) (g units.Grams, raise units.MgPerL, err error) {
	if err := units.CheckRange("alkalinity", now, 0, 1000, "mg/L"); err != nil {
		return 0, 0, err
	}
	raise = min(max(0, AlkalinityAim-now), AlkalinityRaise)
	g, err = Bicarbonate(v, raise)
	return g, raise, err
}
