package rules

// Bounds are the values that a threshold may be changed to. They keep typing
// errors out; they say nothing about fish. Local choices.
func (l Limit) Bounds() (low, high float64) {
	switch l {
	case TempWatchLow, TempActLow, TempWatchHigh, TempActHigh:
		return -1, 30
	case TempDeadband:
		return 0, 2
	case TempSure, TempJump, TempMisread, DepartureLeast, DepartureLevel, ChillerRest, SetpointStep, InstrumentGap:
		return 0.1, 10
	case TempDelay, DeadMin, DeadShareMin, MissingMin, LateChecks:
		return 1, 50
	case StuckScoreFine, StuckScoreCoarse, DepartureWatch:
		return 1, 20
	case CheckWeekends, FoodExpected:
		return 0, 1
	case CheckActDays, CheckGapDays, FoodActDays, FoodGapDays, FoodHoldDays:
		return 1, 30
	case LateDays, WaterChangeDays, FoamDays, AmmoniaPHDays, StageLagDays:
		return 1, 90
	case FoodFastDays:
		return 0, 7
	case DueLeadDays, PlanLag:
		return 0, 30
	case EyedFrom, GreenUntil, HatchFrom, EggUntil, FryFrom, AlevinUntil, FoodFrom, BasketFrom:
		return 0, 5
	case PHWatchLow, PHActLow, PHWatchHigh, PHActHigh:
		return 4, 11
	case AmmoniaWatch, AmmoniaAct:
		return 0.001, 1
	case TotalAmmoniaWatch:
		return 0.1, 10
	case PHChange:
		return 0.2, 3
	case OxygenShareLow:
		return 50, 100
	case ChlorineAct:
		return 0.001, 1
	case AlkalinityLow:
		return 1, 200
	case GasWatch, GasAct:
		return 100, 150
	case NitrateDue:
		return 0.1, 200
	case BackupHours:
		return 24, 720
	case NitriteWatch, NitriteAct:
		return 0.001, 10
	case OxygenWatch, OxygenAct:
		return 1, 14
	case DeadWatchChance, DeadActChance:
		return 1e-6, 0.2
	case DeadShare, MissingShare:
		return 1, 100
	case DeadScatter:
		return 1, 10
	}
	return 0.00001, 0.5 // death rates per day
}
