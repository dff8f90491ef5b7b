package report

import (
	"math"

	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/water"
)

// Figures of the way to the stream.
const (
	// CoolerUA is the heat flow of a closed cooler of about 38 L, W/K: an
	// assumption; measure your own.
	CoolerUA = 1.0
	// TripOxygenLow is the oxygen at which a trip should have ended, mg/L (common
	// practice, no source).
	TripOxygenLow units.MgPerL = 6
	// TemperShare of the water is replaced at each step, every TemperMinutes, until
	// within TemperWithin (hatchery deliveries replace 10 to 20 % every 10 min, read).
	TemperShare                      = 0.2
	TemperMinutes                    = 10
	TemperWithin  units.CelsiusDelta = 1
)

// TripIce returns the kilograms of ice at 0 C that hold a cooler at the
// temperature of its water for some hours (0 to 24) against the air outside.
func TripIce(in, outside units.Celsius, hours float64) (float64, error) {
	if err := units.CheckRange("hours", hours, 0, 24, "h"); err != nil {
		return 0, err
	}
	perHour, err := water.IceToHold(CoolerUA, in, outside, 0)
	return perHour * hours, err
}

// BucketHours returns how long the oxygen of still water lasts: from saturation at
// an altitude down to TripOxygenLow, without exchange at the surface. The fish
// use what Liao's equation says (extrapolated for fry) or the read rate of
// feeding sockeye, whichever is more.
func BucketHours(species logbook.Species, count int, each units.Grams, v units.Litres, t units.Celsius,
	altitude units.Metres) (float64, error) {
	p, err := water.PressureAtAltitude(altitude)
	if err != nil {
		return 0, err
	}
	full, err := water.Saturation(t, p)
	if err != nil {
		return 0, err
	}
	group := water.Salmon
	switch species {
	case logbook.BrownTrout, logbook.BrookTrout, logbook.LakeTrout, logbook.RainbowTrout:
		group = water.Trout
	}
	rate := water.FryOxygenFeeding
	if liao, err := water.LiaoRate(group, t, max(each, water.LiaoLowG)); err == nil {
		rate = math.Max(rate, liao)
	}
	use, err := water.FryOxygenUse(count, each, rate)
	if err != nil {
		return 0, err
	}
	return water.OxygenReserve(v, full, TripOxygenLow, use)
}

// CountOut compares what was counted out with the log.
type CountOut struct {
	Log         int // alive by the log
	Out, Stayed int
	Unexplained int // of the log's that were neither counted out nor stayed; below 0 when there are more
}

// CountOutOf works the account of a count out.
func CountOutOf(t logbook.Totals, out, stayed int) CountOut {
	return CountOut{Log: t.Alive, Out: out, Stayed: stayed, Unexplained: t.Alive - out - stayed}
}

// CountsClose reports whether two counts of the same fish differ by so little that
// nobody has to look a third time: by less than 1 % of the larger, and by 1 anyhow (a
// local choice).
func CountsClose(a, b int) bool {
	gap := max(a-b, b-a)
	return gap <= 1 || 100*gap < max(a, b)
}

// Agreed returns the number that two people counted without seeing each other's:
// the higher of two that are close, since a permit bounds the number, or a third look
// where they differ. ok is false when a count is still missing.
func Agreed(first, second, third units.Optional[int]) (n int, ok bool) {
	switch {
	case !first.OK || !second.OK:
		return 0, false
	case CountsClose(first.V, second.V):
		return max(first.V, second.V), true
	}
	return third.V, third.OK
}

// ReleaseMissing names what stocking and transfer permits usually ask for of a
// release (state and provincial forms, read) and what is not told, in the order of
// the release page. e and r may be empty, before the day.
func ReleaseMissing(s *logbook.Season, e *logbook.Event, r *logbook.ReleaseRecord) []string {
	var out []string
	for _, q := range []struct {
		name string
		told bool
	}{
		{"permit", e.Permit != ""}, {"water_body", r.WaterBody != ""}, {"place", e.Place != ""},
		{"latitude", r.Latitude.OK}, {"longitude", r.Longitude.OK}, {"purpose", r.Purpose != ""},
		{"life_stage", r.LifeStage != ""},
		{"who", e.Observer != ""}, {"health", r.Health != ""}, {"count_out", e.Count.OK}, {"mean_g", e.MeanG.OK},
		{"mean_mm", r.MeanMM.OK},
		{"size_how", r.SizeMethod != "" || !e.MeanG.OK && !r.MeanMM.OK}, {"transport", r.Transport != ""},
		{"water_source", r.WaterSource != ""},
		{"lot_supplier", r.Supplier != "" || s.Lot.Supplier != ""}, {"lot_stock", r.Stock != "" || s.Lot.Stock != ""},
		{"permit_days", !s.ReleaseFrom.IsZero() && !s.ReleaseBy.IsZero()},
	} {
		if !q.told {
			out = append(out, q.name)
		}
	}
	return out
}
