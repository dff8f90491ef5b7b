package rules

import (
	"math"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

func feedingRules() []Rule {
	return []Rule{fedEarly(), firstFood(), foodMissing(), foodHold(), fedOnHold(), basketEarly()}
}

func fedEarly() Rule {
	return newRule("fed_early", Feeding, logbook.Keeper, today, 3, []string{"stop_food", "siphon", "change_water",
		"look_cards"}, FoodFrom)
}

func firstFood() Rule {
	return newRule("first_food", Feeding, logbook.Keeper, today, 3,
		[]string{"look_swimming", "tiny_food", "siphon", "log_first_food"}, FoodExpected)
}

func foodMissing() Rule {
	return newRule("food_missing", Feeding, logbook.Keeper, today, 3,
		[]string{"tiny_food", "log_food", "look_thin", "phone_coordinator"}, FoodExpected, FoodActDays, FoodGapDays)
}

func basketEarly() Rule {
	return newRule("basket_early", Feeding, logbook.Keeper, today, 7,
		[]string{"cover_intake", "keep_dark", "no_food_yet", "look_cards"}, BasketFrom)
}

// feeding raises food too early and too late, food on days without, and alevins
// let out too early.
func (a *assessor) feeding() {
	a.holds()
	stage := a.out.Stage.Stage.Order()
	index, known := a.indexOn(a.today)
	food := a.fed()
	young := func(from float64) bool { return stage > 0 && stage < fry && (!known || index < from) }

	if a.s.Tank.HasBasket && young(a.p.any(BasketFrom)) {
		if opened := a.lastEvent(logbook.BasketOpened); !opened.IsZero() {
			r := basketEarly()
			a.raise(r, Flag{Kind: Watch, Subject: "basket", Since: opened,
				Headline: headline(r.ID, "", logbook.Args{"Since": opened})})
		}
	}
	early := young(a.p.any(FoodFrom))
	if !early && young(math.Inf(1)) && !food.first.IsZero() {
		f := a.windows()
		early = f != nil && food.first.Before(f.FoodFrom) && a.today.Before(f.FoodFrom)
	}
	if early {
		if !food.first.IsZero() {
			r := fedEarly()
			a.raise(r, Flag{Kind: Watch, Subject: "food", Since: food.first, Headline: headline(r.ID, "", logbook.Args{
				"Since": food.first, "Stage": a.out.Stage.Stage,
			})})
		}
		return
	}
	if a.p.any(FoodExpected) != 0 {
		a.hungry(stage, food)
	}
}

// food is what the log says of feeding.
type food struct {
	first, last civil.Date
	weighed     int // checks that say how much
}

func (a *assessor) fed() food {
	var f food
	note := func(d civil.Date) {
		if f.first.IsZero() || d.Before(f.first) {
			f.first = d
		}
		f.last = civil.Max(f.last, d)
	}
	for i := range a.s.Checks {
		if c := &a.s.Checks[i]; c.Fed.OK && c.Fed.V > 0 {
			f.weighed++
			note(c.On)
		}
	}
	for i := range a.s.Events {
		if e := &a.s.Events[i]; e.Kind == logbook.FirstFeed {
			note(e.On)
		}
	}
	return f
}

// lastEvent returns the day of the newest event of a kind, or the zero date.
func (a *assessor) lastEvent(kind logbook.EventKind) civil.Date {
	for i := len(a.s.Events) - 1; i >= 0; i-- {
		if a.s.Events[i].Kind == kind {
			return a.s.Events[i].On
		}
	}
	return civil.Date{}
}

// hungry raises the first food as due when swim-up comes, and missing food when
// fry have had none for too long.
func (a *assessor) hungry(stage int, food food) {
	risen := a.risenOn(stage)
	switch {
	case a.out.Hold.Held(): // what stops the food has its own flag
	case food.first.IsZero() && !risen.IsZero() && a.today.Sub(risen) >= int(a.p.any(FoodActDays)):
		r := foodMissing()
		a.raise(r, Flag{Kind: Act, Subject: "food", Since: risen,
			Headline: headline(r.ID, "", logbook.Args{"Since": risen})})
	case food.first.IsZero():
		a.firstFoodDue(risen)
	// A class that never weighs food is not asked about every day.
	case stage >= fry && food.weighed >= 2 && a.today.Sub(food.last) >= int(a.p.any(FoodGapDays)):
		r := foodMissing()
		a.raise(r, Flag{Kind: Watch, Subject: "food", Since: food.last, Headline: headline(r.ID, "gap", logbook.Args{
			"Last": food.last, "Count": a.today.Sub(food.last),
		})})
	}
}

// risenOn returns the day from which the fry need food: the first sighting of
// fry, else the middle of the swim-up window when it has passed.
func (a *assessor) risenOn(stage int) civil.Date {
	if seen := a.firstSeen(fry); !seen.IsZero() {
		return seen
	}
	if stage < fry {
		return civil.Date{}
	}
	if f := a.windows(); f != nil && f.SwimUp.Ok() && !f.SwimUp.P50.After(a.today) {
		return f.SwimUp.P50
	}
	return civil.Date{}
}

func (a *assessor) firstFoodDue(risen civil.Date) {
	r := firstFood()
	if !risen.IsZero() {
		a.raise(r, Flag{Kind: Due, Subject: "food", Since: risen,
			Headline: headline(r.ID, "risen", logbook.Args{"Since": risen})})
		return
	}
	f := a.windows()
	if f == nil || !f.SwimUp.Ok() {
		return
	}
	opens := f.SwimUp.P50 // food that nobody eats yet rots
	if d := f.FoodLikely; !d.IsZero() {
		opens = civil.Min(opens, d)
	}
	if a.today.Before(opens) {
		return
	}
	a.raise(r, Flag{Kind: Due, Subject: "food", Since: opens,
		Headline: headline(r.ID, "", logbook.Args{"From": opens})})
}
