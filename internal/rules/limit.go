package rules

// Limit names a threshold of the profile. It is small and ordered, so that a
// lookup is an array access; String is the name that is stored.
type Limit uint8

// The thresholds. Units and stock values stand in the stock profile.
const (
	TempWatchLow Limit = iota
	TempActLow
	TempWatchHigh
	TempActHigh
	TempDeadband // how far inside the limit a temperature must be to clear
	TempSure     // this far outside, one reading is enough
	TempDelay    // else this many readings
	TempJump
	TempMisread
	DepartureWatch // spreads from which water away from its setpoint is real
	DepartureLeast // smallest departure that is spoken of
	DepartureLevel // act from here on, less two spreads
	StuckScoreFine
	StuckScoreCoarse

	ChillerRest

	CheckActDays
	CheckGapDays
	CheckWeekends // 1 when weekends count as due
	LateChecks
	LateDays

	StageLagDays // an older sighting gives way to the index
	EyedFrom
	GreenUntil
	HatchFrom
	EggUntil
	FryFrom
	AlevinUntil

	FoamDays
	PHWatchLow
	PHActLow
	PHWatchHigh
	PHActHigh
	AmmoniaWatch
	AmmoniaAct
	AmmoniaPHDays
	NitriteWatch
	NitriteAct
	OxygenWatch
	OxygenAct

	DeadWatchChance
	DeadActChance
	DeadMin
	DeadShare
	DeadShareMin
	DeadScatter
	DeadRateArrival
	DeadRateEgg
	DeadRateHatching
	DeadRateAlevin
	DeadRateSwimUp
	DeadRateFry

	MissingShare
	MissingMin

	FoodExpected // 1 when the programme feeds fry before release
	FoodFrom
	FoodActDays
	FoodGapDays
	BasketFrom

	DueLeadDays
	WaterChangeDays

	InstrumentGap // between the thermometer and the logger
	NitrateDue
	BackupHours

	SetpointStep // largest change of a setpoint in a day
	PlanLag      // days behind a plan that do not matter

	FoodHoldDays // a high ammonia test stops the food so long, unless tested again
	FoodFastDays // days without food before a trip

	TotalAmmoniaWatch // total ammonia as N that is watched at any pH
	PHChange          // between two tests
	OxygenShareLow    // of saturation, eggs and alevins
	GasWatch          // oxygen above saturation
	GasAct
	ChlorineAct // what a kit can just see is too much
	AlkalinityLow

	limitCount
)

// Limits lists the thresholds in the order of the rules page.
func Limits() []Limit {
	all := make([]Limit, limitCount)
	for i := range all {
		all[i] = Limit(i)
	}
	return all
}

// LimitNamed returns the threshold with a stored name.
func LimitNamed(name string) (Limit, bool) {
	for i, n := range limitNames() {
		if n == name {
			return Limit(i), true
		}
	}
	return 0, false
}

// String returns the stored name, or "" for an unknown threshold.
func (l Limit) String() string {
	if l >= limitCount {
		return ""
	}
	return limitNames()[l]
}

// MessageKey returns the catalogue key of what the threshold is.
func (l Limit) MessageKey() string { return "rules.limit." + l.String() }

func limitNames() [limitCount]string {
	return [limitCount]string{
		TempWatchLow:     "temperature_watch_low",
		TempActLow:       "temperature_act_low",
		TempWatchHigh:    "temperature_watch_high",
		TempActHigh:      "temperature_act_high",
		TempDeadband:     "temperature_deadband",
		TempSure:         "temperature_sure",
		TempDelay:        "temperature_delay",
		TempJump:         "temperature_jump",
		TempMisread:      "temperature_misread",
		DepartureWatch:   "departure_watch",
		DepartureLeast:   "departure_least",
		DepartureLevel:   "departure_level",
		StuckScoreFine:   "stuck_score_fine",
		StuckScoreCoarse: "stuck_score_coarse",
		ChillerRest:      "chiller_rest",
		CheckActDays:     "check_act_days",
		CheckGapDays:     "check_gap_days",
		CheckWeekends:    "check_weekends",
		LateChecks:       "late_checks",
		LateDays:         "late_days",
		StageLagDays:     "stage_lag_days",
		EyedFrom:         "eyed_from",
		GreenUntil:       "green_until",
		HatchFrom:        "hatch_from",
		EggUntil:         "egg_until",
		FryFrom:          "fry_from",
		AlevinUntil:      "alevin_until",
		FoamDays:         "foam_days",
		PHWatchLow:       "ph_watch_low",
		PHActLow:         "ph_act_low",
		PHWatchHigh:      "ph_watch_high",
		PHActHigh:        "ph_act_high",
		AmmoniaWatch:     "ammonia_watch",
		AmmoniaAct:       "ammonia_act",
		AmmoniaPHDays:    "ammonia_ph_days",
		NitriteWatch:     "nitrite_watch",
		NitriteAct:       "nitrite_act",
		OxygenWatch:      "oxygen_watch",
		OxygenAct:        "oxygen_act",
		DeadWatchChance:  "dead_watch_chance",
		DeadActChance:    "dead_act_chance",
		DeadMin:          "dead_min",
		DeadShare:        "dead_share",
		DeadShareMin:     "dead_share_min",
		DeadScatter:      "dead_scatter",
		DeadRateArrival:  "dead_rate_arrival",
		DeadRateEgg:      "dead_rate_egg",
		DeadRateHatching: "dead_rate_hatching",
		DeadRateAlevin:   "dead_rate_alevin",
		DeadRateSwimUp:   "dead_rate_swim_up",
		DeadRateFry:      "dead_rate_fry",
		MissingShare:     "missing_share",
		MissingMin:       "missing_min",
		FoodExpected:     "food_expected",
		FoodFrom:         "food_from",
		FoodActDays:      "food_act_days",
		FoodGapDays:      "food_gap_days",
		BasketFrom:       "basket_from",
		DueLeadDays:      "due_lead_days",
		WaterChangeDays:  "water_change_days",
		InstrumentGap:    "instrument_gap",
		NitrateDue:       "nitrate_due",
		BackupHours:      "backup_hours",
		SetpointStep:     "setpoint_step",
		PlanLag:          "plan_lag",
		FoodHoldDays:     "food_hold_days",
		FoodFastDays:     "food_fast_days",

		TotalAmmoniaWatch: "total_ammonia_watch",
		PHChange:          "ph_change",
		OxygenShareLow:    "oxygen_share_low",
		GasWatch:          "gas_watch",
		GasAct:            "gas_act",
		ChlorineAct:       "chlorine_act",
		AlkalinityLow:     "alkalinity_low",
	}
}

// Scoped reports whether the rules look the limit up by species and stage. The
// others hold for every tank.
func (l Limit) Scoped() bool {
	switch l {
	case TempWatchLow, TempActLow, TempWatchHigh, TempActHigh, TempJump,
		PHWatchLow, PHActLow, PHWatchHigh, PHActHigh, AmmoniaWatch, AmmoniaAct,
		TotalAmmoniaWatch, OxygenShareLow, NitriteWatch, NitriteAct, OxygenWatch, OxygenAct, NitrateDue,
		WaterChangeDays, SetpointStep:
		return true
	}
	return false
}
