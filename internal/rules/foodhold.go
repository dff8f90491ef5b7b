package rules

import (
	"slices"
	"time"

	"reddside/internal/care"
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// HoldReason says why no food is given.
type HoldReason string

// The reasons to give no food.
const (
	HoldAmmonia HoldReason = "ammonia" // un-ionised ammonia above the limit in force
	HoldRelease HoldReason = "release" // the last day of release is near
	HoldFlag    HoldReason = "flag"    // another flag stops the food
)

// FoodHold is a stretch of days without food; the zero value is none.
type FoodHold struct {
	Reason   HoldReason
	From, To civil.Date // both included
	Rule     string     // whose flag stops the food; "" for a release
	Name     Message    // of that rule
	Why      Message    // its headline
	// Of ammonia: the value and its limit, as the flag tells them.
	NH3, Limit  units.MgPerL
	Source      string
	LocalChoice bool
	Release     civil.Date // of a release: its last day by the permit
}

// Held reports whether there is a hold.
func (h FoodHold) Held() bool { return h.Reason != "" }

// On reports whether day d is one without food. The first day of
// a flag is not: food may have gone in before the colour was read.
func (h FoodHold) On(d civil.Date) bool {
	from := h.From
	if h.Reason != HoldRelease {
		from = from.AddDays(1)
	}
	return h.Held() && !d.Before(from) && !d.After(h.To)
}

// holdDays is how far back FoodHolds looks.
const holdDays = 28

// FoodHolds lists the stretches without food of the last four weeks, as the flags
// of each day said, up to the day of the input and in order of their first day.
func FoodHolds(in Input) []FoodHold {
	var out []FoodHold
	for d := in.Today.AddDays(-holdDays); !d.After(in.Today); d = d.AddDays(1) {
		of := in
		of.Today, of.Now = d, time.Time{}
		h := Assess(of).Hold
		if !h.Held() { // a good test, or a repair, ended it
			if n := len(out); n > 0 && !out[n-1].To.Before(d) {
				out[n-1].To = civil.Max(out[n-1].From, d.AddDays(-1))
			}
			continue
		}
		if n := len(out); n > 0 && out[n-1].Rule == h.Rule && out[n-1].From == h.From {
			out[n-1].To = h.To
			continue
		}
		if n := len(out); n > 0 && !out[n-1].To.Before(d) {
			out[n-1].To = civil.Max(out[n-1].From, d.AddDays(-1))
		}
		out = append(out, h)
	}
	return out
}

// holdNow is why no food is given today: the most urgent flag that stops it, else
// the trip that is near. It is the only place where food is held.
func (a *assessor) holdNow() (h FoodHold) {
	var worst *Flag
	for i := range a.out.Flags {
		f := &a.out.Flags[i]
		if slices.ContainsFunc(f.Do, func(m Message) bool { return care.StopsFoodKey(m.Key) }) &&
			(worst == nil || f.Kind.Order() < worst.Kind.Order()) {
			worst = f
		}
	}
	if worst != nil {
		h = FoodHold{Reason: HoldFlag, Rule: worst.Rule, Name: text(worst.Rule, "name"), Why: worst.Headline,
			From: worst.Since, To: a.today,
			Source: worst.Source, LocalChoice: worst.LocalChoice}
		if ageing(worst.Rule) {
			h.To = civil.Max(a.today, worst.Since.AddDays(int(a.p.any(FoodHoldDays))))
		}
		if worst.Rule == "ammonia" {
			h.Reason = HoldAmmonia
			h.NH3, _ = worst.Headline.Args["Value"].(units.MgPerL)
			h.Limit, _ = worst.Headline.Args["Limit"].(units.MgPerL)
		}
		return h
	}
	by, fast := a.s.ReleaseBy, int(a.p.any(FoodFastDays))
	if from := by.AddDays(-fast); !by.IsZero() && fast > 0 && !a.today.Before(from) && !a.today.After(by) {
		h = FoodHold{Reason: HoldRelease, From: from, To: by, Release: by}
		h.Source, h.LocalChoice = a.sourceOf(FoodFastDays, 0)
	}
	return h
}

// ageing reports whether what a flag rests on is a look that grows old: after
// FoodHoldDays without another, starving does more harm than food.
func ageing(rule string) bool {
	switch rule {
	case "ammonia", "ammonia_no_ph", "nitrite", "oxygen", "ph", "foam", "water_cloudy":
		return true
	}
	return false
}

func foodHold() Rule {
	return newRule("food_hold", Feeding, logbook.Keeper, today, 3, []string{"stop_food", "siphon", "phone_coordinator"},
		FoodFastDays)
}

func fedOnHold() Rule {
	return newRule("fed_on_hold", Feeding, logbook.Keeper, today, 3,
		[]string{"stop_food", "siphon", "change_water", "test_ammonia"}, FoodHoldDays, FoodFastDays, AmmoniaWatch)
}

// holds finds today's hold, and raises food that was given all the same. High
// ammonia has its own flag, which says to stop the food.
func (a *assessor) holds() {
	a.out.Hold = a.holdNow()
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
		Headline: headline(r.ID, string(h.Reason), logbook.Args{"On": c.On, "Fed": c.Fed.V, "Since": h.From,
			"Release": h.Release,
			"Value":   h.NH3, "Limit": h.Limit})})
}
