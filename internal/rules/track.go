package rules

import (
	"sort"
	"time"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
)

// track is what the days of a replay share. The rows of the whole season are put
// in order once, and each day looks at those up to it. What was worked out for
// earlier days is kept as long as the development of those days, on which it
// rests, is seen in the same way: a reading after a gap changes how the gap is
// filled.
type track struct {
	whole        *logbook.Season
	trajectory   *forecast.Trajectory
	points       []point
	observations []observation
	first        [stageSlots]civil.Date
	late         []bool // by check

	index []float64  // development as seen on the day before
	from  civil.Date // first day of index
	dead  deadTrack
	warm  sideTrack
	cold  sideTrack
	// departure rests on the readings and setpoints alone.
	departure departureTrack
	cut       logbook.Season
}

// newTrack prepares the replay of a season: an assessor that moves from day to
// day.
func newTrack(s *logbook.Season, p *Profile) *assessor {
	a := &assessor{p: p, today: lastOn(s)}
	a.s = upTo(s, a.today)
	a.species = speciesSlot(a.s.Lot.Species)
	a.gatherObservations()
	a.gatherPoints()
	t := &track{whole: a.s, points: a.points, observations: a.observations, first: a.first,
		late:       make([]bool, len(a.s.Checks)),
		trajectory: forecast.NewTrajectory(a.s), warm: sideTrack{side: tooWarm()}, cold: sideTrack{side: tooCold()}}
	for i := range t.late {
		t.late[i] = a.isLate(i)
	}
	a.track = t
	return a
}

// lastOn is the last day that a season has rows of, or on which it closed.
func lastOn(s *logbook.Season) civil.Date {
	last := civil.Max(s.StartedOn(), s.ClosedOn)
	for i := range s.Deliveries {
		last = civil.Max(last, s.Deliveries[i].On)
	}
	for i := range s.Checks {
		last = civil.Max(last, s.Checks[i].On)
	}
	for i := range s.Events {
		last = civil.Max(last, s.Events[i].On)
	}
	for i := range s.Readings {
		last = civil.Max(last, s.Readings[i].On)
	}
	return last
}

// moveTo makes the assessor the one of day d. Days must not go back.
func (a *assessor) moveTo(d civil.Date) {
	t := a.track
	*a = assessor{p: a.p, species: a.species, zone: a.zone, track: t, today: d,
		now: d.AddDays(1).UTC().Add(12 * time.Hour), out: Assessment{Flags: a.out.Flags[:0]}}
	w, c := t.whole, &t.cut
	*c = *w
	c.Deliveries = w.Deliveries[:after(len(w.Deliveries), func(i int) civil.Date { return w.Deliveries[i].On }, d)]
	c.Checks = w.Checks[:after(len(w.Checks), func(i int) civil.Date { return w.Checks[i].On }, d)]
	c.Events = w.Events[:after(len(w.Events), func(i int) civil.Date { return w.Events[i].On }, d)]
	c.Readings = w.Readings[:after(len(w.Readings), func(i int) civil.Date { return w.Readings[i].On }, d)]
	if c.ClosedOn.After(d) {
		c.ClosedOn = civil.Date{}
	}
	a.s = c
	a.points = t.points[:after(len(t.points), func(i int) civil.Date { return t.points[i].on }, d)]
	a.observations = t.observations[:after(len(t.observations), func(i int) civil.Date { return t.observations[i].on },
		d)]
	for order, on := range t.first {
		if !on.After(d) {
			a.first[order] = on
		}
	}
	if f := t.trajectory.On(d); f.Ok() {
		a.forecast = f
	}
	t.forget(a)
	a.begin()
}

// after returns the place of the first of n rows after a day.
func after(n int, on func(int) civil.Date, d civil.Date) int {
	return sort.Search(n, func(i int) bool { return on(i).After(d) })
}

// forget drops what rests on days whose development is seen in another way than
// yesterday.
func (t *track) forget(a *assessor) {
	var days []forecast.Day
	var from civil.Date
	if a.forecast != nil {
		days, from = a.forecast.Days, a.forecast.StartOn
	}
	same := 0
	if from == t.from {
		for same < len(days) && same < len(t.index) && days[same].Index == t.index[same] {
			same++
		}
	}
	switch {
	case from != t.from:
		t.drop(a, civil.Date{}) // a forecast came or went
	case same < len(t.index):
		t.drop(a, from.AddDays(same))
	}
	t.from = from
	t.index = t.index[:min(same, len(t.index))]
	for i := len(t.index); i < len(days); i++ {
		t.index = append(t.index, days[i].Index)
	}
}

func (t *track) drop(a *assessor, d civil.Date) {
	t.dead.forget(a, d)
	t.warm.forget(a, d)
	t.cold.forget(a, d)
}

// side returns the kept episodes of one side of the temperature range.
func (t *track) side(d side) *sideTrack {
	if d == t.warm.side {
		return &t.warm
	}
	return &t.cold
}

// sideTrack keeps the episode after each reading.
type sideTrack struct {
	side
	stages stageCursor
	after  []episode
}

// last reads on and returns the episode after the newest reading.
func (t *sideTrack) last(a *assessor) episode {
	if len(t.after) == 0 {
		t.stages = stageCursor{a: a}
	}
	var e episode
	if n := len(t.after); n > 0 {
		e = t.after[n-1]
	}
	for i := len(t.after); i < len(a.points); i++ {
		e = a.step(t.side, e, &a.points[i], t.stages.on(a.points[i].on))
		t.after = append(t.after, e)
	}
	return e
}

// forget takes back the readings of day d and after.
func (t *sideTrack) forget(a *assessor, d civil.Date) {
	n := len(t.after)
	for n > 0 && !a.points[n-1].on.Before(d) {
		n--
	}
	if n < len(t.after) {
		t.after, t.stages = t.after[:n], stageCursor{a: a}
	}
}
