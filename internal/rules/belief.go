package rules

import (
	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// Orders of the stages, as logbook.Stage.Order counts them.
const (
	greenEgg = 1
	eyedEgg  = 2
	alevin   = 3
	fry      = 4
)

// Places of the events on the development index (Crisp 1988, read: eyed at half
// the days to hatch, swim-up at 1.7 of them).
const (
	eyedAt   = 0.5
	hatchAt  = 1.0
	swimUpAt = 1.7
)

// stageSeen returns the order of the stage that a check saw, 0 for none. Half
// hatched and more is the alevin stage even when no stage was ticked.
func stageSeen(c *logbook.Check) int {
	seen := c.Stage.Order()
	switch c.Hatched {
	case logbook.HatchedHalf, logbook.HatchedMost, logbook.HatchedAll:
		seen = max(seen, alevin)
	}
	return seen
}

// gatherSights lists the furthest stage seen so far at each check that saw one.
func (a *assessor) gatherSights() {
	furthest := 0
	for i := range a.s.Checks {
		c := &a.s.Checks[i]
		seen := stageSeen(c)
		if seen == 0 {
			continue
		}
		furthest = max(furthest, seen)
		for order := furthest; order > 0 && a.first[order].IsZero(); order-- {
			a.first[order] = c.On
		}
		if a.sights == nil {
			a.sights = make([]sight, 0, len(a.s.Checks)-i)
		}
		a.sights = append(a.sights, sight{c.On, furthest})
	}
}

// beliefOn returns the stage to believe in on day d from what was known then: a
// sighting, unless it is old and the index has moved on; else the index; else
// the stage at delivery.
func (a *assessor) beliefOn(d civil.Date) Belief {
	n := len(a.sights)
	for n > 0 && a.sights[n-1].on.After(d) {
		n--
	}
	seen := sight{}
	if n > 0 {
		seen = a.sights[n-1]
	}
	order, from, on := a.believe(seen, d)
	if order == 0 {
		return Belief{}
	}
	return Belief{Stage: logbook.Stages()[order-1], From: from, On: on}
}

// firstSeen returns the first day on which a stage, or a later one, was seen.
func (a *assessor) firstSeen(order int) civil.Date { return a.first[order] }

// believe weighs the last sighting against the index of day d.
func (a *assessor) believe(seen sight, d civil.Date) (order int, from Basis, on civil.Date) {
	index, known := a.indexOn(d)
	if seen.order > 0 {
		old := d.Sub(seen.on) > int(a.p.any(StageLagDays))
		if by := stageByIndex(index); known && old && by > seen.order {
			return by, FromIndex, d
		}
		return seen.order, FromSighting, seen.on
	}
	if known {
		return stageByIndex(index), FromIndex, d
	}
	for i := len(a.s.Deliveries) - 1; i >= 0; i-- {
		if r := &a.s.Deliveries[i]; r.Stage.Order() > 0 && !r.On.After(d) {
			return r.Stage.Order(), FromDelivery, r.On
		}
	}
	return 0, "", civil.Date{}
}

func stageByIndex(index float64) int {
	switch {
	case index < eyedAt:
		return greenEgg
	case index < hatchAt:
		return eyedEgg
	case index < swimUpAt:
		return alevin
	}
	return fry
}

// indexOn returns the development index at the end of day d.
func (a *assessor) indexOn(d civil.Date) (float64, bool) {
	if a.forecast == nil {
		return 0, false
	}
	if day := a.forecast.DayOn(d); day != nil {
		return day.Index, true
	}
	return 0, false
}

// stageWalk answers the stage of days asked about in order.
type stageWalk struct {
	a    *assessor
	next int
	seen sight
}

// on returns the order of the stage believed in on day d, 0 when unknown. Days
// must not go back.
func (w *stageWalk) on(d civil.Date) int {
	for w.next < len(w.a.sights) && !w.a.sights[w.next].on.After(d) {
		w.seen = w.a.sights[w.next]
		w.next++
	}
	order, _, _ := w.a.believe(w.seen, d)
	return order
}
