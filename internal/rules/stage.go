package rules

import (
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
)

func stageRules() []Rule { return []Rule{stageBackwards(), stageIndex()} }

func stageBackwards() Rule {
	return newRule("stage_backwards", Development, logbook.Keeper, nextCheck, 7,
		[]string{"look_cards", "correct_entry"})
}

func stageIndex() Rule {
	return newRule("stage_index", Development, logbook.Keeper, threeDays, 14,
		[]string{"look_cards", "check_delivery_units", "second_thermometer", "ask_supplier"},
		EyedFrom, GreenUntil, HatchFrom, EggUntil, FryFrom, AlevinUntil)
}

// stages raises a stage that goes backwards, or one that the temperature record
// does not explain.
func (a *assessor) stages() {
	last, seen := a.lastObserved()
	if last == nil {
		return
	}
	if before := a.furthestBefore(last); before.order > seen {
		r := stageBackwards()
		a.raise(r, Flag{Kind: Watch, Subject: "stage", Since: last.On, Headline: headline(r.ID, "", logbook.Args{
			"Stage": logbook.Stages()[seen-1], "On": last.On,
			"Previous": logbook.Stages()[before.order-1], "PreviousOn": before.on,
		})})
		return
	}
	a.offIndex(seen)
}

// lastObserved returns the newest check that saw a stage, and the stage.
func (a *assessor) lastObserved() (*logbook.Check, int) {
	for i := len(a.s.Checks) - 1; i >= 0; i-- {
		if seen := stageSeen(&a.s.Checks[i]); seen > 0 {
			return &a.s.Checks[i], seen
		}
	}
	return nil, 0
}

// furthestBefore returns the furthest stage seen before a check, and the first
// day it was seen.
func (a *assessor) furthestBefore(last *logbook.Check) observation {
	var before observation
	for i := range a.s.Checks {
		c := &a.s.Checks[i]
		if c == last {
			break
		}
		if seen := stageSeen(c); seen > before.order {
			before = observation{c.On, seen}
		}
	}
	return before
}

// offIndex compares each first sighting of a stage, and the stage seen now, with
// the development index of its day.
func (a *assessor) offIndex(seen int) {
	first := a.firstSeen(seen)
	index, known := a.indexOn(first)
	if known && index < a.earliest(seen) {
		a.raiseIndex("early", seen, first, index)
		return
	}
	last := a.observations[len(a.observations)-1].on
	if index, known = a.indexOn(last); known && index > a.latest(seen) {
		a.raiseIndex("late", seen, a.passedOn(first, last, a.latest(seen)), index)
	}
}

func (a *assessor) raiseIndex(variant string, seen int, since civil.Date, index float64) {
	r := stageIndex()
	a.raise(r, Flag{Kind: Watch, Subject: "stage", Since: since, Headline: headline(r.ID, variant, logbook.Args{
		"Stage": logbook.Stages()[seen-1], "On": since, "Expected": forecast.StageAt(index),
	})})
}

// earliest is the index from which a stage can be seen; 0 for no bound.
func (a *assessor) earliest(stage int) float64 {
	switch stage {
	case eyedEgg:
		return a.p.any(EyedFrom)
	case alevin:
		return a.p.any(HatchFrom)
	case fry:
		return a.p.any(FryFrom)
	}
	return 0
}

// latest is the index up to which a stage can be seen.
func (a *assessor) latest(stage int) float64 {
	switch stage {
	case greenEgg:
		return a.p.any(GreenUntil)
	case eyedEgg:
		return a.p.any(EggUntil)
	case alevin:
		return a.p.any(AlevinUntil)
	}
	return 1e9
}

// passedOn returns the first day from first to last on which the index is above
// a bound.
func (a *assessor) passedOn(first, last civil.Date, bound float64) civil.Date {
	for d := first; d.Before(last); d = d.AddDays(1) {
		if index, known := a.indexOn(d); known && index > bound {
			return d
		}
	}
	return last
}
