package rules

import (
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/water"
)

// HoldReason says why no food is given.
type HoldReason string

// The reasons to give no food.
const (
	HoldAmmonia HoldReason = "ammonia" // un-ionised ammonia above the limit in force
	HoldRelease HoldReason = "release" // the last day of release is near
)

// FoodHold is a stretch of days without food; the zero value is none.
type FoodHold struct {
	Reason   HoldReason
	From, To civil.Date // both included
	// Of ammonia: as NH3, with the limit in force and its source.
	NH3, Limit  units.MgPerL
	Source      string
	LocalChoice bool
	Release     civil.Date // of a release: its last day by the permit
}

// Held reports whether there is a hold.
func (h FoodHold) Held() bool { return h.Reason != "" }

// On reports whether day d is one without food. The day of an ammonia test is
// not: food may have gone in before the colour was read.
func (h FoodHold) On(d civil.Date) bool {
	from := h.From
	if h.Reason == HoldAmmonia {
		from = from.AddDays(1)
	}
	return h.Held() && !d.Before(from) && !d.After(h.To)
}

// FoodHolds lists the stretches without food of a season as the profile says, up
// to the day of the input, in order of their first day.
func FoodHolds(in Input) []FoodHold {
	return newAssessor(in).foodHolds()
}

func (a *assessor) foodHolds() []FoodHold {
	out := a.ammoniaHolds()
	if by, fast := a.s.ReleaseBy, int(a.p.any(FoodFastDays)); !by.IsZero() && fast > 0 {
		from := by.AddDays(-fast)
		if !a.today.Before(from) {
			h := FoodHold{Reason: HoldRelease, From: from, To: by, Release: by}
			h.Source, h.LocalChoice = a.sourceOf(FoodFastDays, 0)
			out = append(out, h)
		}
	}
	return out
}

// ammoniaHolds begins a hold with each high test and ends it with the next good
// one, or when the test has become old.
func (a *assessor) ammoniaHolds() (out []FoodHold) {
	days := int(a.p.any(FoodHoldDays))
	for i := range a.s.Checks {
		c := &a.s.Checks[i]
		if !c.TAN.OK {
			continue
		}
		if n := len(out); n > 0 && !out[n-1].To.Before(c.On) {
			out[n-1].To = civil.Max(out[n-1].From, c.On.AddDays(-1))
		}
		nh3, ok := a.nh3(c)
		limit := a.limit(AmmoniaWatch, a.stageOn(c.On))
		if !ok || !(float64(nh3) > limit+tie) {
			continue
		}
		h := FoodHold{Reason: HoldAmmonia, From: c.On, To: c.On.AddDays(days), NH3: nh3, Limit: units.MgPerL(limit)}
		h.Source, h.LocalChoice = a.sourceOf(AmmoniaWatch, a.stageOn(c.On))
		out = append(out, h)
	}
	return out
}

// nh3 is the un-ionised ammonia of a test, when pH and temperature are known.
func (a *assessor) nh3(c *logbook.Check) (units.MgPerL, bool) {
	ph, okPH := a.phFor(c)
	t, okT := a.temperatureFor(c)
	if !okPH || !okT {
		return 0, false
	}
	split, err := water.UnionisedAmmonia(c.TAN.V, t, ph)
	return split.NH3, err == nil
}

func foodHold() Rule {
	return newRule("food_hold", Feeding, logbook.Keeper, today, 3, []string{"stop_food", "siphon", "phone_coordinator"}, FoodFastDays)
}

func fedOnHold() Rule {
	return newRule("fed_on_hold", Feeding, logbook.Keeper, today, 3,
		[]string{"stop_food", "siphon", "change_water", "test_ammonia"}, FoodHoldDays, FoodFastDays, AmmoniaWatch)
}

// holds finds today's hold, and raises food that was given all the same. High
// ammonia has its own flag, which says to stop the food.
func (a *assessor) holds() {
	list := a.foodHolds()
	for _, h := range list {
		// A test of today stops the food of the rest of the day.
		if !a.today.Before(h.From) && !a.today.After(h.To) {
			a.out.Hold = h
		}
	}
	h := a.out.Hold
	if !h.Held() {
		return
	}
	if h.Reason == HoldRelease && a.out.Stage.Stage.Order() >= fry && !a.fed().first.IsZero() {
		r := foodHold()
		a.raise(r, Flag{Kind: Due, Subject: "food_hold", Since: h.From, Source: h.Source, LocalChoice: h.LocalChoice,
			Headline: headline(r.ID, "", logbook.Args{"Since": h.From, "Release": h.Release})})
	}
	c := a.newest(func(c *logbook.Check) bool { return c.Fed.OK && c.Fed.V > 0 })
	if c == nil || !h.On(c.On) {
		return
	}
	r, kind := fedOnHold(), Watch
	if h.Reason == HoldRelease {
		kind = Note
	}
	a.raise(r, Flag{Kind: kind, Subject: "food_hold", Since: c.On, Source: h.Source, LocalChoice: h.LocalChoice,
		Headline: headline(r.ID, string(h.Reason), logbook.Args{"On": c.On, "Fed": c.Fed.V, "Since": h.From, "Release": h.Release,
			"Value": h.NH3, "Limit": h.Limit})})
}
