package stats

// UnitsForecast is what is known about a stage that needs a sum of units (such
// as degree-days) in daily readings.
type UnitsForecast struct {
	Need, NeedSD  float64 // units needed, and their spread over batches
	Have, HaveSD  float64 // units had, and the error of those before delivery
	PerDay        float64 // units per day now: mean of the last 7 readings, > 0
	ElapsedDays   float64 // days measured with this thermometer so far
	BiasSD, DaySD float64 // thermometer bias; scatter of daily water temperature
	Rho           float64 // correlation of neighbouring days, [0, 1)
}
