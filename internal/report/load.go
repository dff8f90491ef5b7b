package report

import (
	"math"

	"reddside/internal/biology"
	"reddside/internal/civil"
	"reddside/internal/units"
	"reddside/internal/water"
)

// FilterDoubtDays is how long after the first food a filter is watched closely;
// common practice, no source. It ripens in one to six weeks (FAO glossary, read).
const FilterDoubtDays = 42

// loadDays is how far ahead a load is worked out: growth beyond a year of classroom
// fish is no guide.
const loadDays = 400

// Load is what the fish and their food ask of filter and tank on a day.
type Load struct {
	On       civil.Date
	Alive    int
	Weight   units.Grams // mean
	Food     units.Grams // of the day, by the table; 0 where it says nothing
	Nitrogen units.Grams // ammonia nitrogen that comes of this food
	// Rise is what total ammonia, as N, would rise by in the day without a filter.
	Rise units.MgPerL
	// Area is the square metres of ripe filter surface that keep up; 0 where the
	// table has no rate.
	Area    float64
	Density units.MgPerL // mg of fish in a litre
	// Crowding is Piper's density index; trout raceways keep to 0.5 (from memory).
	Crowding units.Optional[float64]
}

// loads are those of the day that matters now, which is the first food or today,
// and of the last day of release.
func (k *feeder) loads(first civil.Date) []Load {
	var out []Load
	for _, d := range []civil.Date{civil.Max(first, k.today), k.s.ReleaseBy} {
		if first.IsZero() || d.Before(k.today) || d.Sub(k.today) > loadDays || len(out) > 0 && !d.After(out[0].On) {
			continue
		}
		if l, ok := k.load(d, first); ok {
			out = append(out, l)
		}
	}
	return out
}

// load is that of one day; the fish alive today are taken to live.
func (k *feeder) load(d, first civil.Date) (Load, bool) {
	at := *k
	at.risen, at.holds = civil.Min(first, d), nil
	x, err := at.day(d)
	volume := k.s.Tank.Volume
	if err != nil || x.Alive == 0 || x.Weight <= 0 || volume <= 0 {
		return Load{}, false
	}
	total := units.Grams(x.Alive) * x.Weight
	l := Load{On: d, Alive: x.Alive, Weight: x.Weight, Food: x.Ration.V,
		Density: units.MgPerL(1000 * float64(total) / float64(volume))}
	// Fulton's factor is g and cm: K = 100 W / L^3.
	length := 10 * math.Cbrt(100*float64(x.Weight)/((biology.UsualConditionLow+biology.UsualConditionHigh)/2))
	if index, err := water.DensityIndex(total, units.Millimetres(length), volume); err == nil {
		l.Crowding = units.Some(index)
	}
	if l.Nitrogen, err = water.TANFromFeed(l.Food, water.FryFeedProtein); err != nil {
		return l, true
	}
	l.Rise = units.MgPerL(1000 * float64(l.Nitrogen) / float64(volume))
	if x.Temperature.OK {
		if area, err := water.FilterArea(l.Nitrogen, x.Temperature.V); err == nil {
			l.Area = area
		}
	}
	return l, true
}
