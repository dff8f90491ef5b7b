package rules

import "reddside/internal/logbook"

// stock returns the thresholds the program comes with. "read" and "memory" say
// how the source was had; the reference rows stand in testdata/reference.
func stock() []Threshold {
	rows := stockTemperature()
	rows = append(rows, stockSignals()...)
	rows = append(rows, stockWater()...)
	rows = append(rows, stockDead()...)
	return append(rows, stockCare()...)
}

func local(l Limit, v float64, unit string) Threshold {
	return Threshold{Limit: l, Value: v, Unit: unit, Known: LocalChoice}
}

func simulated(l Limit, v float64, unit string) Threshold {
	return Threshold{Limit: l, Value: v, Unit: unit, Source: "simulation of invented seasons", Known: Simulated}
}

func (t Threshold) at(stage logbook.Stage) Threshold {
	t.Stage = stage
	return t
}

// stockSignals are deadbands, delays and patterns of temperature, chiller and
// checks.
func stockSignals() []Threshold {
	return []Threshold{
		local(TempDeadband, 0.3, "K"),
		local(TempSure, 0.5, "K"),
		local(TempDelay, 2, "1"),
		// Sudden drops at the eyed stage and at hatch cause yolk-sac oedema
		// (Peterson et al. 1977, read); no number is given there.
		local(TempJump, 2, "K"),
		simulated(TempMisread, 1.5, "K"),
		simulated(DepartureWatch, 3.72, "1"),
		simulated(DepartureLeast, 0.8, "K"),
		simulated(DepartureLevel, 2.8, "K"),
		simulated(StuckScoreFine, 3, "1"),
		simulated(StuckScoreCoarse, 4, "1"),

		// Two instruments of a school may each be half a degree off.
		local(InstrumentGap, 1, "K"),

		local(ChillerRest, 0.5, "K"),

		local(CheckActDays, 2, "d"),
		local(CheckGapDays, 4, "d"),
		local(CheckWeekends, 0, "1"),
		local(LateChecks, 5, "1"),
		local(LateDays, 30, "d"),
	}
}

const (
	epa1986  = "US EPA 1986, EPA 440/5-86-003, table 8"
	ccmePH   = "CCME and US EPA fresh water range; Piper et al. 1982 p. 11"
	rombough = "Pacific salmon, ten-day tests of 1983, abstract: 10 % of the tenderest alevins die at 5.0 (coho) to 5.7 (chum), unrest to 6.1"
	piper    = "Piper et al. 1982"
	supplier = "trout egg supplier's management guide: above 7 mg/L and above 90 % of saturation"
	eifacPH  = "EIFAC 1969: 5 to 9 not directly lethal"
)

func stockWater() []Threshold {
	w := func(l Limit, v float64, unit, source string, known Known) Threshold {
		return Threshold{Limit: l, Value: v, Unit: unit, Source: source, Known: known}
	}
	return []Threshold{
		w(PHWatchLow, 6.5, "[pH]", ccmePH, Read),
		local(PHWatchHigh, 8.5, "[pH]"),
		w(PHActLow, 6, "[pH]", rombough, Read),
		local(PHChange, 0.5, "[pH]"),
		w(PHActHigh, 9, "[pH]", eifacPH, Read),
		w(AmmoniaWatch, 0.019, "mg/L", "CCME 2001, as NH3", Read),
		w(AmmoniaAct, 0.025, "mg/L", "EIFAC 1970 and EU Freshwater Fish Directive, salmonids, as NH3", FromMemory),
		local(TotalAmmoniaWatch, 1, "mg/L"),
		local(AmmoniaPHDays, 7, "d"),
		w(NitriteWatch, 0.06, "mg/L", "CCME 1987, as N", FromMemory),
		w(NitriteAct, 0.2, "mg/L", piper+", hard water, as N", FromMemory),
		// 99 mg/L as N did not harm salmon post-smolts in eight months (Davidson et al.
		// 2017, abstract read); the figure itself is chosen well below.
		local(NitrateDue, 20, "mg/L"),
		// Eggs in a basket lie in the open water, not under gravel.
		w(OxygenWatch, 7, "mg/L", supplier, Read),
		w(OxygenWatch, 6.5, "mg/L", epa1986, FromMemory).at(logbook.Fry),
		w(OxygenWatch, 6.5, "mg/L", epa1986, FromMemory).at(logbook.Parr),
		w(OxygenWatch, 6.5, "mg/L", epa1986, FromMemory).at(logbook.Smolt),
		w(OxygenShareLow, 90, "%", supplier, Read),
		w(ChlorineAct, 0.019, "mg/L", "US EPA 1986: acute 19 ug/L of total residual chlorine", Read),
		w(AlkalinityLow, 20, "mg/L", "US EPA 1986: at least 20 mg/L as CaCO3", Read),
		local(GasWatch, 105, "%"),
		w(GasAct, 110, "%", piper+": levels over 110 % call for remedial action in a hatchery", Read),
		w(OxygenAct, 5, "mg/L", epa1986+", early stages", FromMemory),
		w(OxygenAct, 4, "mg/L", epa1986+", other stages", FromMemory).at(logbook.Fry),
		w(OxygenAct, 4, "mg/L", epa1986+", other stages", FromMemory).at(logbook.Parr),
		w(OxygenAct, 4, "mg/L", epa1986+", other stages", FromMemory).at(logbook.Smolt),
		local(FoamDays, 5, "d"),
	}
}

func stockDead() []Threshold {
	assumed := func(l Limit, v float64) Threshold { return local(l, v, "1") }
	return []Threshold{
		simulated(DeadWatchChance, 0.01, "1"),
		simulated(DeadActChance, 0.0002, "1"),
		simulated(DeadMin, 3, "1"),
		simulated(DeadShare, 10, "%"),
		simulated(DeadShareMin, 5, "1"),
		simulated(DeadScatter, 2, "1"),
		// Rates per day of an assumed programme that loses 7 % in a season.
		assumed(DeadRateArrival, 0.0035),
		assumed(DeadRateEgg, 0.00056),
		assumed(DeadRateHatching, 0.0035),
		assumed(DeadRateAlevin, 0.0002333),
		assumed(DeadRateSwimUp, 0.00105),
		assumed(DeadRateFry, 0.0002),
		local(MissingShare, 5, "%"),
		local(MissingMin, 5, "1"),
	}
}

// stockCare are thresholds of development, food and the calendar. Those on the
// development index follow eyed at 0.5 and swim-up at 1.7 (Crisp 1988, read)
// with room for the misfit of the models.
func stockCare() []Threshold {
	return []Threshold{
		local(StageLagDays, 7, "d"),
		local(EyedFrom, 0.35, "1"),
		local(GreenUntil, 0.75, "1"),
		local(HatchFrom, 0.8, "1"),
		local(EggUntil, 1.2, "1"),
		local(FryFrom, 1.35, "1"),
		local(AlevinUntil, 2.1, "1"),

		local(FoodExpected, 1, "1"),
		local(FoodFrom, 1.4, "1"),
		local(FoodActDays, 4, "d"),
		local(FoodGapDays, 4, "d"),
		local(FoodHoldDays, 3, "d"),
		// A day is enough for fry (from memory, sure); programmes ask for two.
		local(FoodFastDays, 2, "d"),
		local(BasketFrom, 1.4, "1"),
		local(DueLeadDays, 2, "d"),
		// No source was found for the largest change of temperature in a day.
		local(SetpointStep, 1, "K"),
		local(PlanLag, 1, "d"),
		local(BackupHours, 48, "h"),
		local(WaterChangeDays, 14, "d").at(logbook.Alevin),
		weekly(logbook.Fry), weekly(logbook.Parr), weekly(logbook.Smolt),
	}
}

func weekly(stage logbook.Stage) Threshold {
	return Threshold{
		Limit: WaterChangeDays, Stage: stage, Value: 7, Unit: "d", Known: Read,
		Source: "South Carolina DNR, school duties: 10 to 20 % a week",
	}
}
