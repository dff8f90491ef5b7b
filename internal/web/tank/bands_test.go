package tank

import (
	"testing"

	"reddside/internal/assess"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
)

// The chart of a lot begins with the band that the rules judge it by: that of the
// stage in which it came, for fry theirs alone and never that of alevins.
func TestBandIsThatOfTheStageDelivered(t *testing.T) {
	profile, today := rules.StockProfile(), civil.MustParse("2026-02-10")
	for stage, index := range map[logbook.Stage]float64{logbook.EyedEgg: 0.7, logbook.Alevin: 1.1, logbook.Fry: 2.2} {
		s := &logbook.Season{Site: logbook.Site{Zone: "UTC"},
			Tank: logbook.Tank{Volume: 200, Setpoint: units.Some[units.Celsius](9)},
			Lot:  logbook.Lot{Species: logbook.AtlanticSalmon},
			Deliveries: []logbook.Delivery{{On: civil.MustParse("2026-02-01"), Count: 100, Method: logbook.ByHand,
				Stage: stage, Index: units.Some(index)}}}
		a := assess.Result{Season: s, Today: today, Forecast: forecast.Compute(forecast.Input{Season: s, Today: today})}
		if !a.Forecast.Ok() {
			t.Fatalf("%s: no forecast: %s", stage, a.Forecast.Reason)
		}
		a.Assessment = rules.Assess(rules.Input{Season: s, Today: today, Forecast: &a.Forecast, Profile: profile})
		bands := safeBands(a, profile)
		if len(bands) == 0 {
			t.Fatalf("%s: no band", stage)
		}
		low, _ := profile.Value(rules.TempWatchLow, s.Lot.Species, stage)
		high, _ := profile.Value(rules.TempWatchHigh, s.Lot.Species, stage)
		if b := bands[0]; b.Low != assess.Celsius(low) || b.High != assess.Celsius(high) {
			t.Errorf("%s: the chart begins with %v to %v, the rules judge by %v to %v", stage, b.Low, b.High, low, high)
		}
		alevins, _ := profile.Value(rules.TempWatchHigh, s.Lot.Species, logbook.Alevin)
		if stage == logbook.Fry && (len(bands) != 1 || bands[0].High == assess.Celsius(alevins)) {
			t.Errorf("fry have the band of alevins, or more than their own: %+v", bands)
		}
	}
}
