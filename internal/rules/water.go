package rules

import (
	"reddside/internal/civil"
	"reddside/internal/logbook"
)

func waterRules() []Rule {
	return []Rule{
		foam(), foamHatch(), waterCloudy(), waterFilm(), fungus(),
		phRule(), ammoniaRule(), ammoniaNoPH(), nitriteRule(), nitrateRule(), oxygenRule(), gasRule(), chlorineRule(),
		alkalinityRule(),
	}
}

func foam() Rule {
	return newRule("foam", Water, logbook.Keeper, today, 3,
		[]string{"caution_electric", "skim_foam", "stop_food", "siphon", "change_water", "change_steps",
			"test_ammonia"}, FoamDays)
}

func foamHatch() Rule {
	return newRule("foam_hatch", Water, logbook.Keeper, today, 5,
		[]string{"caution_electric", "skim_foam", "change_water", "test_ammonia"}, FoamDays)
}

func waterCloudy() Rule {
	return newRule("water_cloudy", Water, logbook.Keeper, today, 3,
		[]string{"test_ammonia", "stop_food", "siphon", "change_water", "rinse_filter"}, FoamDays)
}

func waterFilm() Rule {
	return newRule("water_film", Water, logbook.Keeper, threeDays, 7, []string{"feed_less", "siphon", "change_water",
		"clean_hands"})
}

func fungus() Rule {
	return newRule("fungus", Water, logbook.Keeper, today, 3, []string{"pick_fuzzy", "wash_hands", "check_flow",
		"own_gear", "count_again"})
}

func phRule() Rule {
	return newRule("ph", Water, logbook.Keeper, today, 3,
		[]string{"test_again", "adults_chemicals", "test_alkalinity", "no_quick_ph", "change_water", "change_steps",
			"phone_coordinator"},
		PHWatchLow, PHActLow, PHWatchHigh, PHActHigh, PHChange)
}

func ammoniaRule() Rule {
	return newRule("ammonia", Water, logbook.Keeper, today, 3,
		[]string{"stop_food", "test_again", "adults_chemicals", "change_water", "change_steps", "no_higher_ph",
			"pick_dead", "phone_coordinator"},
		AmmoniaWatch, AmmoniaAct, TotalAmmoniaWatch, AmmoniaPHDays)
}

func ammoniaNoPH() Rule {
	return newRule("ammonia_no_ph", Water, logbook.Keeper, threeDays, 14, []string{"adults_chemicals", "test_ph",
		"stop_food_act", "no_higher_ph"}, TotalAmmoniaWatch, AmmoniaPHDays)
}

func nitriteRule() Rule {
	return newRule("nitrite", Water, logbook.Keeper, today, 3,
		[]string{"stop_food", "test_again", "adults_chemicals", "change_water", "change_steps", "chloride_on_word",
			"phone_coordinator"}, NitriteWatch, NitriteAct)
}

func nitrateRule() Rule {
	return newRule("nitrate", Water, logbook.Keeper, thisWeek, 14, []string{"adults_chemicals", "change_water",
		"test_tap"}, NitrateDue)
}

func oxygenRule() Rule {
	return newRule("oxygen", Water, logbook.Keeper, today, 1,
		[]string{"caution_electric", "check_air_line", "battery_air", "lift_basket", "stir_around", "test_again",
			"stop_food", "phone_coordinator"}, OxygenWatch, OxygenAct, OxygenShareLow)
}

func chlorineRule() Rule {
	return newRule("chlorine", Water, logbook.Keeper, now, 1,
		[]string{"dechlorinate_tank", "adults_chemicals", "call_at_once", "air_stone_on", "what_went_in_water", "test_again",
			"stand_water"}, ChlorineAct)
}

func alkalinityRule() Rule {
	return newRule("alkalinity", Water, logbook.Keeper, threeDays, 7,
		[]string{"test_ph", "adults_chemicals", "soda_on_word", "phone_coordinator"}, AlkalinityLow)
}

func gasRule() Rule {
	return newRule("gas", Water, logbook.Keeper, today, 2,
		[]string{"caution_electric", "check_suction", "stir_surface", "look_bubbles", "air_new_water", "test_again",
			"phone_coordinator"}, GasWatch, GasAct)
}

// looks raises what was seen in the water and on the eggs.
func (a *assessor) looks() {
	if look, since, last := a.waterSeen(); look != "" && look != logbook.WaterClear {
		a.waterLook(look, since, last)
	}
	if since, last := a.fungusSince(); !since.IsZero() && !a.fungusTold {
		r := fungus()
		variant := ""
		if a.out.Stage.Stage.Order() >= fry {
			variant = "fish" // no eggs are left that it could be on
		}
		a.raise(r, Flag{Kind: Watch, Subject: "eggs", Since: since,
			Headline: headline(r.ID, variant, logbook.Args{"Since": since, "On": last})})
	}
}

func (a *assessor) waterLook(look logbook.Water, since, last civil.Date) {
	hatches := a.hatching(last)
	hatching := hatches && !a.spoken("dead")
	if newest := len(a.points) - 1; look == logbook.WaterCloudy && newest >= 0 &&
		a.points[newest].t > a.limit(TempWatchHigh, a.out.Stage.Stage.Order())+tie {
		hatching = false // warm water clouds by itself
	}
	kind, r, variant := Watch, waterFilm(), ""
	switch {
	case look == logbook.WaterFilm:
	case hatching:
		kind, r = Note, foamHatch()
		if look == logbook.WaterCloudy {
			variant = "cloudy"
		}
	case look == logbook.WaterFoam:
		if r = foam(); hatches { // it explains the foam, but not the deaths
			variant = "dead"
		}
	default:
		r = waterCloudy()
	}
	// What was explained by the hatch and goes on begins when the window ends.
	for kind == Watch && look != logbook.WaterFilm && since.Before(last) && a.hatching(since) {
		since = since.AddDays(1)
	}
	a.raise(r, Flag{Kind: kind, Subject: "water_look", Since: since,
		Headline: headline(r.ID, variant, logbook.Args{"Since": since, "On": last})})
}

// waterSeen returns the look of the water at the newest check that tells it,
// since when it has looked so, and that check's day.
func (a *assessor) waterSeen() (look logbook.Water, since, last civil.Date) {
	for i := len(a.s.Checks) - 1; i >= 0; i-- {
		c := &a.s.Checks[i]
		switch {
		case c.Water == "":
		case look == "":
			look, since, last = c.Water, c.On, c.On
		case c.Water == look:
			since = c.On
		default:
			return look, since, last
		}
	}
	return look, since, last
}

// hatching reports whether foam on day d is explained: the eggs were seen
// hatching within the days before, or the forecast expects the hatch about then.
func (a *assessor) hatching(d civil.Date) bool {
	after := int(a.p.any(FoamDays))
	for i := len(a.s.Checks) - 1; i >= 0; i-- {
		c := &a.s.Checks[i]
		if c.On.After(d) {
			continue
		}
		switch c.Hatched {
		case logbook.HatchedFew, logbook.HatchedHalf, logbook.HatchedMost:
			if d.Sub(c.On) <= after {
				return true
			}
		case logbook.HatchedAll:
			return false // nothing hatches any more
		}
	}
	first := a.hatchSeen(d)
	if !first.IsZero() && d.Sub(first) <= after {
		return true
	}
	if a.forecast == nil {
		return false
	}
	w := &a.windows().Hatch
	return w.Ok() && w.Observed.IsZero() && !d.Before(w.P10.AddDays(-1)) && !d.After(w.P90.AddDays(after))
}

// hatchSeen returns the first day up to d on which any egg was seen hatched,
// zero when none was.
func (a *assessor) hatchSeen(d civil.Date) civil.Date {
	for i := range a.s.Checks {
		c := &a.s.Checks[i]
		if c.On.After(d) {
			break
		}
		if c.Hatched != "" && c.Hatched != logbook.HatchedNone || c.Stage.Order() == alevin {
			return c.On
		}
	}
	return civil.Date{}
}

// fungusSince returns the first and last day of fuzz that no later check denies.
func (a *assessor) fungusSince() (since, last civil.Date) {
	for i := len(a.s.Checks) - 1; i >= 0; i-- {
		switch c := &a.s.Checks[i]; c.Fungus {
		case logbook.NotSeen:
			return since, last
		case logbook.Seen:
			since = c.On
			if last.IsZero() {
				last = c.On
			}
		}
	}
	return since, last
}
