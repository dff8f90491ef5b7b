package rules

import (
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
)

// Orders of the stages, as logbook.Stage.Order counts them.
const (
	greenEgg = 1
	eyedEgg  = 2
	alevin   = 3
	fry      = 4
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

// gatherObservations lists the furthest stage seen so far at each check that saw one.
func (a *assessor) gatherObservations() {
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
		if a.observations == nil {
			a.observations = make([]observation, 0, len(a.s.Checks)-i)
		}
		a.observations = append(a.observations, observation{c.On, furthest})
	}
}

// beliefOn returns the stage to believe in on day d from what was known then: a
// sighting, unless it is old and the index has moved on; else the index; else
// the stage at delivery.
func (a *assessor) beliefOn(d civil.Date) Belief {
	n := len(a.observations)
	for n > 0 && a.observations[n-1].on.After(d) {
		n--
	}
	seen := observation{}
	if n > 0 {
		seen = a.observations[n-1]
	}
	order, from, on := a.believe(seen, d)
	if order == 0 {
		return Belief{}
	}
	return Belief{Stage: logbook.Stages()[order-1], From: from, On: on}
}

// firstSeen returns the first day on which a stage, or a later one, was seen.
func (a *assessor) firstSeen(order int) civil.Date { return a.first[order] }

// believe weighs the last sighting against the development of day d. The stage at
// delivery was seen as well. Today's stage follows the windows of the forecast, so
// that the two never contradict each other; earlier days go by their index, for
// which no window is at hand.
func (a *assessor) believe(seen observation, d civil.Date) (order int, from Basis, on civil.Date) {
	basis := FromObservation
	if seen.order == 0 {
		seen, basis = a.deliveredAs(d), FromDelivery
	}
	old := d.Sub(seen.on) > int(a.p.any(StageLagDays))
	if seen.order > 0 && !old {
		return seen.order, basis, seen.on
	}
	if by := a.expectedOn(d, seen.order); by > seen.order {
		return by, FromIndex, d
	}
	if seen.order > 0 {
		return seen.order, basis, seen.on
	}
	return 0, "", civil.Date{}
}

// deliveredAs is the stage of the newest delivery that names one.
func (a *assessor) deliveredAs(d civil.Date) observation {
	for i := len(a.s.Deliveries) - 1; i >= 0; i-- {
		if r := &a.s.Deliveries[i]; r.Stage.Order() > 0 && !r.On.After(d) {
			return observation{r.On, r.Stage.Order()}
		}
	}
	return observation{}
}

// expectedOn is the order of the stage that the forecast expects on day d, 0 when it
// does not know. The windows are asked only where they can tell more than a stage
// that is known: no lot is a third faster than the model.
func (a *assessor) expectedOn(d civil.Date, known int) int {
	index, ok := a.indexOn(d)
	switch {
	case !ok:
		return 0
	case d == a.today && forecast.StageAt(1.5*index).Order() > known:
		return a.windows().StageOn(d).Order()
	}
	return forecast.StageAt(index).Order()
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

// stageCursor answers the stage of days asked about in order.
type stageCursor struct {
	a    *assessor
	next int
	seen observation
}

// on returns the order of the stage believed in on day d, 0 when unknown. Days
// must not go back.
func (w *stageCursor) on(d civil.Date) int {
	for w.next < len(w.a.observations) && !w.a.observations[w.next].on.After(d) {
		w.seen = w.a.observations[w.next]
		w.next++
	}
	order, _, _ := w.a.believe(w.seen, d)
	return order
}
