package care

import (
	"math"
	"slices"

	"reddside/internal/calc"
	"reddside/internal/care"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/units"
	"reddside/internal/water"
	"reddside/internal/web/ui"
)

// ice says how much ice in sealed bottles holds the tank, and lowers it.
func (k *failure) ice(now units.Celsius) (ui.CarePart, error) {
	p := k.p
	part := ui.CarePart{ID: "ice", Title: p.T("care_failure.ice"),
		Cautions: calc.CautionTexts(p, []water.Caution{water.CautionSealedIce})}
	var perHour [3]float64
	for i, ua := range [...]float64{k.out.Heat.Low, k.out.Heat.UA, k.out.Heat.High} {
		var err error
		if perHour[i], err = water.IceToHold(ua, now, k.out.Room, k.out.HeatW); err != nil {
			return part, err
		}
	}
	if perHour[1] == 0 && !k.warm(now) {
		part.Lines = append(part.Lines, p.T("care_failure.ice_none"))
	} else if perHour[1] > 0 && !k.pastAct(now) { // water past its limit is lowered, not held
		kg := perHour[1] * failureHoldHours
		part.Lines = append(part.Lines, p.T("care_failure.ice_hold",
			logbook.Args{"Now": now, "PerHour": p.Num(perHour[1], 1),
				"Hours": int(failureHoldHours), "Kg": p.Num(kg, 1), "Count": k.bottles(kg)}))
	}
	// In a room cooler than the water a tank that leaks more needs less ice.
	if most := slices.Max(perHour[:]); most > 0 && !k.pastAct(now) {
		part.Lines = append(part.Lines, p.T("care_failure.ice_doubt",
			logbook.Args{"Low": p.Num(slices.Min(perHour[:]), 1), "High": p.Num(most, 1)}))
	}
	if plan, ok := k.cooling(now); ok && now > k.setpoint.V && k.warm(now) {
		to := plan.Today
		kg, err := water.IceToLower(k.out.Volume, now, to, failureIceC)
		if err != nil {
			return part, err
		}
		part.Lines = append(part.Lines, p.T("care_failure.ice_lower", logbook.Args{"From": now, "To": to,
			"Kg":    p.Num(kg, 1),
			"Count": k.bottles(kg), "Ice": failureIceC}))
	}
	part.Sources = append(part.Sources, p.T("care_failure.ice_source"))
	return part, nil
}

func (k *failure) bottles(kg float64) int { return int(math.Ceil(kg / failureBottleKg)) }

// oxygen says how long the oxygen lasts without air.
func (k *failure) oxygen(now units.Celsius) (ui.CarePart, error) {
	p := k.p
	part := ui.CarePart{ID: "oxygen", Title: p.T("care_failure.oxygen")}
	if k.what == failedChiller {
		part.Lines = append(part.Lines, p.T("care_failure.oxygen_chiller"))
	}
	alive, stage := k.Assessment.Totals.Alive, k.Assessment.Stage.Stage
	if alive <= 0 || stage == "" {
		part.Lines = append(part.Lines, p.T("care_failure.oxygen_unknown"))
		return part, nil
	}
	use, how, err := k.oxygenUse(alive, now)
	if err != nil {
		return part, err
	}
	if how == "" {
		part.Lines = append(part.Lines, p.T("care_failure.oxygen_weight"))
		return part, nil
	}
	have, from, err := k.oxygenNow(now)
	if err != nil {
		return part, err
	}
	least, ok := k.profile.Value(rules.OxygenAct, k.Season.Lot.Species, stage)
	if !ok {
		return part, nil
	}
	hours, err := water.OxygenReserve(k.out.Volume, have, units.MgPerL(least), use)
	if err != nil {
		return part, err
	}
	key := "care_failure.oxygen_lasts"
	if k.what == failedChiller {
		key = "care_failure.oxygen_would"
	}
	part.Lines = append(part.Lines, p.T(key, logbook.Args{"Hours": careHours(p, hours), "Alive": alive, "Stage": stage,
		"Have": have, "Least": units.MgPerL(least)}), from, how, p.T("care_failure.oxygen_basket"))
	if h, err := care.BasketHours(alive, now, have, units.MgPerL(least)); err == nil && k.Assessment.Situation.Basket {
		part.Lines[len(part.Lines)-1] = p.T("care_failure.oxygen_in_basket", logbook.Args{"Hours": careHours(p, h),
			"Alive": alive, "Litres": care.BasketLitres})
	}
	return part, nil
}

// oxygenUse is mg of oxygen an hour of everything alive, and how it is known; ""
// when the weight of the fish is not known.
func (k *failure) oxygenUse(alive int, now units.Celsius) (float64, string, error) {
	p := k.p
	if !k.isFish() {
		use, t, err := care.EggUse(alive, now)
		return use, p.T("care_failure.oxygen_eggs", logbook.Args{"T": t}), err
	}
	if !k.weight.OK {
		return 0, "", nil
	}
	use, err := water.FryOxygenUse(alive, k.weight.V, water.FryOxygenFeeding)
	return use, p.T("care_failure.oxygen_fish", logbook.Args{"Weight": k.weight.V}), err
}

// oxygenNow is the oxygen in the water: as measured today, else as much as the
// water holds at the site's altitude.
func (k *failure) oxygenNow(now units.Celsius) (units.MgPerL, string, error) {
	for i := len(k.Season.Checks) - 1; i >= 0; i-- {
		if c := &k.Season.Checks[i]; c.Oxygen.OK && c.On == k.Today {
			return c.Oxygen.V, k.p.T("care_failure.oxygen_measured"), nil
		}
	}
	press, at, err := carePressure(k.Season.Site)
	if err != nil {
		return 0, "", err
	}
	sat, err := water.Saturation(now, press)
	key := "care_failure.oxygen_full"
	if !at {
		key = "care_failure.oxygen_full_sea"
	}
	return sat, k.p.T(key), err
}

// carePressure is the air pressure at a site by its altitude, and whether the
// altitude is known; else it is that of the sea.
func carePressure(site logbook.Site) (units.Kilopascal, bool, error) {
	p, err := water.PressureAtAltitude(site.Altitude.Or(0))
	return p, site.Altitude.OK, err
}

// after says how slowly to cool, and what the warm hours did to the eggs.
func (k *failure) after(now units.Celsius) (ui.CarePart, error) {
	p := k.p
	part := ui.CarePart{ID: "after", Title: p.T("care_failure.after")}
	if !k.setpoint.OK {
		part.Lines = append(part.Lines, p.T("care_failure.no_setpoint"))
		return part, nil
	}
	sp := k.setpoint.V
	if plan, _ := k.cooling(now); now-sp > 0.1 {
		args := logbook.Args{"Count": len(plan.Days), "From": now, "Today": plan.Today, "To": sp, "Step": plan.PerDay,
			"Fast": units.CelsiusDelta(care.CoolPerHour),
			"On":   p.DateWeekday(civil.In(k.out.Now, k.loc).AddDays(len(plan.Days)))}
		key := "care_failure.cool"
		if len(plan.Days) == 0 {
			key = "care_failure.cool_one"
			delete(args, "Count")
		}
		if plan.Hours > 0 && len(plan.Days) > 0 {
			key, args["Hours"] = "care_failure.cool_today", careHours(p, plan.Hours)
		}
		part.Lines = append(part.Lines, p.T(key, args))
		if plan.TooMuch {
			part.Lines = append(part.Lines, p.T("care_failure.setpoint_high"))
		}
	} else {
		part.Lines = append(part.Lines, p.T("care_failure.cool_none", logbook.Args{"To": sp}))
	}
	m, ok := k.model()
	if !ok {
		return part, nil
	}
	e, err := k.out.Excursion(m, sp, k.before.Or(sp), k.Season.Readings)
	if err != nil {
		return part, err
	}
	basis := "care_failure.grown_computed"
	if e.FromReadings {
		basis = "care_failure.grown_logged"
	}
	part.Lines = append(part.Lines, p.T("care_failure.grown", logbook.Args{"Gained": p.Num(100*e.Gained, 2),
		"Planned": p.Num(100*e.Planned, 2), "To": sp}))
	key := "care_failure.ahead"
	if e.Days < 0 {
		key = "care_failure.behind"
	}
	part.Lines = append(part.Lines, p.T(key, logbook.Args{"Hours": careHours(p, math.Abs(e.Days)*24)}), p.T(basis))
	return part, nil
}

// cooling is how the water goes back to its setpoint; ok is false without one.
func (k *failure) cooling(now units.Celsius) (plan care.CoolingPlan, ok bool) {
	if !k.setpoint.OK {
		return plan, false
	}
	c := care.Cooling{Now: now, Setpoint: k.setpoint.V, Stage: k.Assessment.Stage.Stage,
		NearHatch: k.Assessment.Situation.NearHatch}
	if v, ok := k.profile.Value(rules.TempActHigh, k.Season.Lot.Species, c.Stage); ok {
		c.ActHigh = units.Some(units.Celsius(v))
	}
	if v, ok := k.profile.Value(rules.SetpointStep, k.Season.Lot.Species, ""); ok {
		c.PerDay = units.Some(units.CelsiusDelta(v))
	}
	return care.PlanCooling(c), true
}

// pastAct reports whether the water is past the upper limit to act on.
func (k *failure) pastAct(now units.Celsius) bool {
	v, ok := k.profile.Value(rules.TempActHigh, k.Season.Lot.Species, k.Assessment.Stage.Stage)
	return ok && now > units.Celsius(v)
}

// warm reports whether the water has to be kept from warming: the room and the
// pumps warm it, or it is past its limit.
func (k *failure) warm(now units.Celsius) bool {
	return k.pastAct(now) || float64(k.out.Room-now)*k.out.Heat.UA+k.out.HeatW > 0
}

// how says where the heat flow comes from, and its doubt.
func (k *failure) how() ui.CarePart {
	p, h := k.p, k.out.Heat
	part := ui.CarePart{ID: "how", Title: p.T("care_failure.how")}
	args := logbook.Args{"UA": p.Num(h.UA, 1), "Low": p.Num(h.Low, 1), "High": p.Num(h.High, 1), "Volume": k.out.Volume,
		"Wall": k.Season.Tank.Wall}
	if k.fitted {
		s := k.stretch
		args["From"], args["To"] = p.When(s.From, k.loc), p.When(s.To, k.loc)
		args["First"], args["Last"], args["N"], args["Room"] = s.First, s.Last, h.Fit.N, k.roomThen
		args["SD"] = p.Num(h.Fit.ResidualSD, 2)
		part.Lines = append(part.Lines, p.T("care_failure.how_record", args), p.T("care_failure.how_interval", args),
			p.T("care_failure.how_room", args))
	} else {
		if k.fitWhy != "" {
			part.Lines = append(part.Lines, k.fitWhy)
		}
		part.Lines = append(part.Lines, p.T("care_failure.how_walls", args), p.T("care_failure.how_walls_doubt", args))
		if !k.hasFit {
			part.Lines = append(part.Lines, p.T("care_failure.how_better"))
		}
	}
	if k.what == failedChiller && k.out.HeatW == 0 {
		part.Lines = append(part.Lines, p.T("care_failure.how_pumps"))
	}
	part.Sources = append(part.Sources, p.T("care_failure.how_source"))
	return part
}
