package water

import (
	_ "embed"
	"sort"

	"reddside/internal/units"
)

// KitScale is the printed colour steps of a test kit, ascending, in mg/L.
type KitScale []units.MgPerL

// AmmoniaKit is a common ammonia colour card (from memory, sure).
func AmmoniaKit() KitScale { return KitScale{0, 0.25, 0.5, 1, 2, 4, 8} }

// KitReading is what a colour can mean. Beyond is true on the last step, where
// the true value may be any amount higher than High.
type KitReading struct {
	Low, High units.MgPerL
	Beyond    bool
}

// Around returns the reading give or take half a step: half the gap below and
// half the gap above (reading error of colour cards, from memory). A value
// between two steps takes half of the gap it lies in.
func (k KitScale) Around(v units.MgPerL) (KitReading, error) {
	if len(k) < 2 {
		return KitReading{}, units.CheckRange("kit_steps", float64(len(k)), 2, 100, "")
	}
	last := len(k) - 1
	if err := units.CheckRange("kit_reading", v, float64(k[0]), float64(k[last]), "mg/L"); err != nil {
		return KitReading{}, err
	}
	i := sort.Search(len(k), func(i int) bool { return k[i] >= v })
	var down, up units.MgPerL
	switch {
	case k[i] != v:
		down = (k[i] - k[i-1]) / 2
		up = down
	case i == 0:
		up = (k[1] - k[0]) / 2
	case i == last:
		down = (k[i] - k[i-1]) / 2
		up = down
	default:
		down, up = (k[i]-k[i-1])/2, (k[i+1]-k[i])/2
	}
	return KitReading{Low: max(0, v-down), High: v + up, Beyond: k[i] == v && i == last}, nil
}

// KitAmmonia carries the reading errors of two colour kits to the un-ionised
// ammonia: total ammonia anywhere in tan (as N) and a pH give or take phError,
// from 0 to 2. Near pH 7 an error of 0.5 in pH alone is a factor of 3.2.
func KitAmmonia(tan KitReading, t units.Celsius, ph, phError float64) (low, high Ammonia, err error) {
	if err = units.CheckRange("ph_error", phError, 0, 2, "pH"); err != nil {
		return low, high, err
	}
	if low, err = UnionisedAmmonia(tan.Low, t, ph-phError); err != nil {
		return low, high, err
	}
	high, err = UnionisedAmmonia(tan.High, t, ph+phError)
	return low, high, err
}
