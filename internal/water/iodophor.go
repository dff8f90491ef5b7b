package water

import (
	_ "embed"

	"reddside/internal/units"
)

// Iodophor bath of eyed eggs before they enter the tank.
const (
	IodophorTarget  = 100.0 // mg/L active iodine (read: extension sheets, SRAC 220)
	IodophorMinutes = 10
	// IodophorHigh is the strongest bath without egg loss in a read study; loss
	// starts by 800 mg/L.
	IodophorHigh  = 400.0
	IodophorLowPH = 6.0 // WOAH Aquatic Code 2010, read
	IodophorHiPH  = 8.0
)

// IodophorStock returns the millilitres of stock, of a strength in percent
// weight per volume of active iodine (0.1 to 20), in a bath of a final volume
// at a target from 1 to 400 mg/L: target x litres / (10 x percent).
func IodophorStock(target units.MgPerL, v units.Litres, percent float64) (float64, error) {
	err := firstOutside(
		check{"iodine", float64(target), 1, IodophorHigh, "mg/L"},
		volumeCheck(v),
		check{"stock_percent", percent, 0.1, 20, "%"},
	)
	if err != nil {
		return 0, err
	}
	return float64(target) * float64(v) / (10 * percent), nil
}

// IodophorCautions belong beside every iodophor dose.
func IodophorCautions() []Caution {
	return []Caution{CautionAdultChemicals, CautionNotHatching, CautionRinse}
}
