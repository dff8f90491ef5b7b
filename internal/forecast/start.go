package forecast

import (
	"math"

	"reddside/internal/biology"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// start is the development state when the tank's record begins: at delivery, or
// at fertilisation when the eggs were fertilised on that day.
type start struct {
	on         civil.Date
	index      float64 // part of the way to half hatched
	swimUp     float64 // part of the way to swim-up
	indexSD    float64 // doubt of index
	units      units.ThermalUnits
	unitsKnown bool
	mean       units.Optional[units.Celsius] // of the water before
	assumed    string                        // message key of an assumption made, or empty
	stage      logbook.Stage
}

// startOf takes the state from the first delivery that tells it. It returns the
// key of a reason when none does; nothing is guessed.
func startOf(s *logbook.Season, dev biology.Development, set Settings) (start, string) {
	if len(s.Deliveries) == 0 {
		return start{}, "forecast.none.delivery"
	}
	reason := ""
	for i := range s.Deliveries {
		st, why := startFrom(&s.Deliveries[i], s.Lot.FertilisedOn, dev, set)
		if why == "" {
			return st, ""
		}
		if reason == "" {
			reason = why
		}
	}
	return start{}, reason
}

func startFrom(d *logbook.Delivery, fertilised civil.Date, dev biology.Development, set Settings) (start, string) {
	st := start{on: d.On, stage: d.Stage, mean: d.MeanTemperature}
	if st.mean.OK && !plausible(st.mean.V) {
		st.mean = units.None[units.Celsius]()
	}
	days := 0
	if !fertilised.IsZero() {
		days = d.On.Sub(fertilised)
		if days < 0 {
			return st, "forecast.none.fertilised_after_delivery"
		}
	}
	if d.ThermalUnits.OK {
		st.units, st.unitsKnown = d.ThermalUnits.V, true
		if !st.mean.OK && days > 0 {
			st.mean = units.Some(units.Celsius(float64(d.ThermalUnits.V) / float64(days)))
		}
	}
	switch {
	case d.Index.OK:
		st.index = d.Index.V
	case d.ThermalUnits.OK:
		if _, total := dev.Hatch.IsThermalTotal(); !total && !st.mean.OK && d.ThermalUnits.V != 0 {
			return st, "forecast.none.mean_temperature"
		}
		x, ok := dev.StartIndex(d.ThermalUnits.V, st.mean.V)
		if !ok {
			return st, "forecast.none.mean_temperature"
		}
		st.index = x
		st.indexSD = unitsDoubt(dev, st, set)
	case !fertilised.IsZero() && days == 0:
		st.unitsKnown = true
	case !fertilised.IsZero() && st.mean.OK:
		rate, slope := dev.Hatch.Rate(st.mean.V)
		st.index = float64(days) * rate
		st.indexSD = float64(days) * slope * set.StartMeanSD
		st.units, st.unitsKnown = biology.ThermalUnitsAt(st.mean.V, float64(days)), true
	case !fertilised.IsZero():
		return st, "forecast.none.hatchery_temperature"
	default:
		return st, "forecast.none.start"
	}
	if !units.Finite(st.index) || st.index < 0 || st.index > 3 {
		return st, "forecast.none.start_impossible"
	}
	st.swimUp, st.assumed = swimUpAt(st, days, dev)
	st.swimUp = math.Min(st.swimUp, dev.MostSwimUp(st.index))
	return st, ""
}

func unitsDoubt(dev biology.Development, st start, set Settings) float64 {
	if total, ok := dev.Hatch.IsThermalTotal(); ok {
		return set.StartUnitsSD / float64(total)
	}
	if !(st.mean.V > 0) {
		return 0 // no thermal units yet
	}
	rate, _ := dev.Hatch.Rate(st.mean.V)
	return set.StartUnitsSD * rate / float64(st.mean.V)
}

// swimUpAt returns the part of the way to swim-up at the start, and the key of
// the assumption that it rests on, if any.
func swimUpAt(st start, days int, dev biology.Development) (float64, string) {
	if k, ok := dev.SwimUp.RatioTo(dev.Hatch); ok {
		return st.index / k, ""
	}
	if st.index == 0 {
		return 0, ""
	}
	mean, key := st.mean, ""
	if !mean.OK {
		// A model of its own needs the temperature of the way so far. The middle
		// of the model's range stands in for it, and the forecast says so.
		mean, key = units.Some((dev.SwimUp.Low.V+dev.SwimUp.High.V)/2), "forecast.note.mean_assumed"
	}
	r2, _ := dev.Hatch.Rate(mean.V)
	r3, _ := dev.SwimUpRate(mean.V)
	if days > 0 {
		return float64(days) * r3, key
	}
	if r2 <= 0 {
		return 0, key
	}
	return st.index / r2 * r3, key
}
