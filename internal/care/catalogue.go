package care

import (
	"reddside/internal/logbook"
	"reddside/internal/water"
)

// Sources of more than one step.
const (
	srcCooling = "Weber et al. 2016, Tang et al. 1987 and Peterson et al. 1977, abstracts; the rates from memory"
	srcTender  = "Crisp 1990, abstract: half of trout eggs shocked at 10 to 20 % of the way to hatch died; Musialak et al. 2024, abstract"
)

// steps lists the steps that are for some situations only, or have a source. Their
// texts are rules.do.<id>.
var steps = map[string]Step{
	"slow_change": {Urgency: Today, Effect: Cools, When: When{Warm: true}, Source: srcCooling, Known: Memory,
		Args: coolArgs()},
	"slow_warm": {Urgency: Today, Effect: KeepsWarm, When: When{Cold: true}, Known: Practice},
	// Of the chiller; its vents matter where it should cool.
	"check_chiller":   {Urgency: Today, When: When{Chiller: true}, Known: Practice},
	"check_setpoint":  {Urgency: Today, When: When{Chiller: true}, Known: Practice},
	"record_setpoint": {Urgency: Today, When: When{Chiller: true}, Known: Practice},
	"check_ice":       {Urgency: Today, When: When{Chiller: true}, Known: Practice},
	"check_vents":     {Urgency: Today, When: When{Chiller: true, Warm: true}, Known: Practice},

	"sealed_ice": {Urgency: Today, Effect: Cools, When: When{Warm: true}, Known: Practice},
	"cover_cool": {Urgency: AtOnce, Effect: Cools, When: When{Warm: true}, Known: Practice},
	"cover_warm": {Urgency: AtOnce, Effect: KeepsWarm, When: When{Cold: true}, Known: Practice},
	"stop_food":  {Urgency: Today, Effect: StopsFood, When: When{Fish: true, Fresh: true}, Known: Practice},
	// Eggs in a basket have no more oxygen than the litre they lie in.
	"lift_basket": {Urgency: AtOnce, Effect: MovesEggs, When: When{Basket: true, Hardy: true}, Known: Practice},
	"stir_around": {Urgency: AtOnce, Effect: LeavesEggs, When: When{Eggs: true, Tender: true}, Source: srcTender,
		Known: Read},
	"stop_food_act": {Urgency: AtOnce, Effect: StopsFood, When: When{Fish: true, Fresh: true, Act: true},
		Known: Practice},
	"feed_less": {Urgency: Today, When: When{Fish: true}, Known: Practice},
	"tiny_food": {Urgency: Today, Effect: Feeds, When: When{Fish: true}, Known: Practice},
	"change_water": {Urgency: Today, Effect: ChangesWater, When: When{NotMass: true}, Known: Practice,
		Args: logbook.Args{"Near": water.NewWaterNear}},
	"change_steps": {Urgency: Today, Effect: ChangesWater, When: When{NotMass: true}, Known: Memory,
		Source: "largest share at once, 25 to 30 %"},
	"chloride_on_word": {Urgency: Today, When: When{Fish: true}, Known: Read,
		Source: "extension sheets on nitrite: ten parts of chloride to one of nitrite"},
	"no_higher_ph": {Urgency: Today, Known: Read,
		Source: "Emerson et al. 1975: the harmful part of ammonia rises with pH"},
	// Half a tank dead between two looks is poison, air or chlorine, not fungus.
	"air_on":         {Urgency: AtOnce, When: When{Mass: true, Struck: true}, Known: Practice},
	"call_now":       {Urgency: AtOnce, When: When{Mass: true}, Known: Practice},
	"what_went_in":   {Urgency: AtOnce, When: When{Mass: true}, Known: Practice},
	"keep_dead_cold": {Urgency: AtOnce, When: When{Mass: true}, Known: Practice},
	"pour_nothing": {Urgency: AtOnce, Effect: KeepsWater, When: When{Mass: true}, Known: Read,
		Source: "fish disease laboratories: take the water sample before the water is changed"},
	"dechlorinate_or_move": {Urgency: AtOnce, When: When{Mass: true, Hardy: true}, Known: Practice},
	"starved":              {Urgency: Today, When: When{Mass: true, Fish: true}, Known: Practice},
	"look_fuzz":            {Urgency: Today, When: When{NotMass: true}, Known: Practice},
	"count_again":          {Urgency: Today, When: When{NotMass: true}, Known: Practice},
	"phone_coordinator":    {Urgency: Today, When: When{NotMass: true}, Known: Practice},
	"pick_dead":            {Urgency: Today, When: When{NotMass: true}, Known: Practice},
	"dispose_dead":         {Urgency: Today, Known: Practice},
	"put_down":             {Urgency: Today, When: When{Fish: true, Mass: true}, Known: Practice},
	"own_gear": {Urgency: Today, When: When{NotMass: true},
		Source: "agency sheets on cleaning gear between waters: dry five days or more", Known: Read},
	"stale_water": {Urgency: Today, Known: Practice},
}

// FailureSteps is what to do, in order, when the chiller alone or all power fails.
func FailureSteps(power bool, s Situation) []Step {
	ids := []string{"caution_electric", "read_now", "check_plug", "check_vents", "check_ice", "cover_cool",
		"cover_warm", "sealed_ice",
		"read_often", "phone_coordinator", "slow_change"}
	if power {
		ids = []string{"caution_electric", "read_now", "battery_air", "lift_basket", "stir_around", "cover_cool",
			"cover_warm", "sealed_ice",
			"stop_food", "read_often", "phone_coordinator", "check_restart", "stale_water", "test_ammonia",
			"slow_change"}
	}
	if s.Act && !s.Cold { // warm water past its limit stops the food, whatever failed
		ids = append(ids, "stop_food")
	}
	return Choose(unique(ids), s)
}

func unique(ids []string) []string {
	seen := map[string]bool{}
	out := ids[:0:0]
	for _, id := range ids {
		if !seen[id] {
			seen[id] = true
			out = append(out, id)
		}
	}
	return out
}
