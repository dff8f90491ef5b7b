package water

import (
	"math"

	"reddside/internal/units"
)

// Weekend is a tank left without a water change.
type Weekend struct {
	TAN        units.MgPerL // total ammonia at the start, as nitrogen
	Production units.Grams  // ammonia nitrogen per day, from feed or fish
	Filter     units.Grams  // ammonia nitrogen the filter takes up per day; 0 for none or new
	Volume     units.Litres
	T          units.Celsius
	PH         float64
	LimitNH3   units.MgPerL // un-ionised limit, as NH3
}

// WeekendEnd is the forecast at the end of the days away.
type WeekendEnd struct {
	TAN         units.MgPerL
	Ammonia     Ammonia
	DaysToLimit units.Optional[float64] // absent when the limit is never reached
}

// After returns the ammonia after a number of days, 0 to 60, at constant
// temperature and pH. What the filter cannot take up stays in the water; the
// total never falls below 0.
func (w Weekend) After(days float64) (WeekendEnd, error) {
	err := firstOutside(
		check{"days", days, 0, 60, "d"},
		check{"tan", float64(w.TAN), 0, NitrogenHigh, "mg/L"},
		check{"tan_per_day", float64(w.Production), 0, 10000, "g"},
		check{"filter_per_day", float64(w.Filter), 0, 10000, "g"},
		volumeCheck(w.Volume),
	)
	if err != nil {
		return WeekendEnd{}, err
	}
	limit, err := MaxTAN(w.LimitNH3, w.T, w.PH)
	if err != nil {
		return WeekendEnd{}, err
	}
	gain := 1000 * float64(w.Production-w.Filter) / float64(w.Volume) // mg/L per day
	end := WeekendEnd{TAN: units.MgPerL(math.Max(0, float64(w.TAN)+gain*days))}
	if err := units.CheckRange("tan_at_end", end.TAN, 0, NitrogenHigh, "mg/L"); err != nil {
		return WeekendEnd{}, err
	}
	if end.Ammonia, err = UnionisedAmmonia(end.TAN, w.T, w.PH); err != nil {
		return WeekendEnd{}, err
	}
	switch {
	case w.TAN >= limit:
		end.DaysToLimit = units.Some(0.0)
	case gain > 0:
		end.DaysToLimit = units.Some(float64(limit-w.TAN) / gain)
	}
	return end, nil
}
