package report

import (
	"cmp"
	"errors"
	"slices"
	"strings"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/stats"
)

// Gate is a look at the survival of many tanks. There are four in a season, and
// the share of wrong names is divided between them.
type Gate string

// The gates, in order of the season.
const (
	GateHatch   Gate = "hatch"
	GateSwimUp  Gate = "swim_up"
	GateMidFry  Gate = "mid_fry"
	GateRelease Gate = "release"
)

// Gates lists the gates.
func Gates() []Gate { return []Gate{GateHatch, GateSwimUp, GateMidFry, GateRelease} }

// MessageKey returns the catalogue key of the gate.
func (g Gate) MessageKey() string { return "compare.gate." + string(g) }

// midFryDays is how long after the first fry were seen the gate of mid-fry
// stands; local choice, half of the fry stage of the simulations.
const midFryDays = 30

// Alike are seasons that can be compared fairly: the same season of the year,
// species, source of the eggs and stage at the start.
type Alike struct {
	Label    string
	Species  logbook.Species
	Supplier string
	Stock    string
	Stage    logbook.Stage
}

// Compared is one group of seasons at the gates that two tanks or more have
// passed.
type Compared struct {
	Alike
	Tanks int
	Gates []GateResult
}

// GateResult is the funnel of one gate.
type GateResult struct {
	Gate   Gate
	Tanks  []GateTank // by school and tank, never by survival
	Funnel stats.Funnel
	// Named is false with too few tanks or too small ones: then no tank is called
	// low.
	Named bool
	Low   int           // tanks called low
	Bands []FunnelLimit // by the number at the start
}

// GateTank is one tank at a gate.
type GateTank struct {
	SeasonID      logbook.ID
	Site, Tank    string
	On            civil.Date // day of the gate
	Start, Alive  int
	Share         float64
	Low           bool           // lower than luck explains, at stats.GateLevel
	Shrunk        float64        // the share drawn towards the middle of the group
	ShrunkBetween stats.Interval // 90 %
}

// FunnelLimit is the range of shares of a tank of some size: 95 % and 99.8 %.
type FunnelLimit struct {
	Start                                  int
	Low95, High95, Low998, High998, Centre float64
}

// Comparison gathers seasons that are alike, to be put side by side at the four
// gates. It keeps of a season no more than the gates ask for. The zero value is
// ready for use.
type Comparison struct {
	groups map[Alike]*gathered
}

type gathered struct {
	tanks int
	gates map[Gate][]GateTank
}

// Add looks at a season up to a day, the date on the wall of its school.
func (c *Comparison) Add(s *logbook.Season, today civil.Date) {
	if len(s.Deliveries) == 0 || s.StartedOn().After(today) {
		return
	}
	if c.groups == nil {
		c.groups = map[Alike]*gathered{}
	}
	k := alikeOf(s)
	g := c.groups[k]
	if g == nil {
		g = &gathered{gates: map[Gate][]GateTank{}}
		c.groups[k] = g
	}
	g.tanks++
	for _, gate := range Gates() {
		if t, ok := gateTank(gate, s, today); ok {
			g.gates[gate] = append(g.gates[gate], t)
		}
	}
}

// Groups returns the seasons side by side: by label, newest first, then by name.
func (c *Comparison) Groups() []Compared {
	var out []Compared
	for k, g := range c.groups {
		x := Compared{Alike: k, Tanks: g.tanks}
		for _, gate := range Gates() {
			if r, ok := atGate(gate, g.gates[gate]); ok {
				x.Gates = append(x.Gates, r)
			}
		}
		out = append(out, x)
	}
	slices.SortFunc(out, func(x, y Compared) int {
		return cmp.Or(strings.Compare(y.Label, x.Label), strings.Compare(string(x.Species), string(y.Species)),
			strings.Compare(x.Supplier, y.Supplier), strings.Compare(x.Stock, y.Stock), x.Stage.Order()-y.Stage.Order())
	})
	return out
}

func alikeOf(s *logbook.Season) Alike {
	name := func(t string) string { return strings.Join(strings.Fields(t), " ") }
	return Alike{Label: name(s.Label), Species: s.Lot.Species, Supplier: name(s.Lot.Supplier), Stock: name(s.Lot.Stock),
		Stage: s.Deliveries[0].Stage}
}

// gateTank is how a season passed a gate; ok is false when it has not, or when its
// totals say nothing sound.
func gateTank(g Gate, s *logbook.Season, today civil.Date) (t GateTank, ok bool) {
	on := gateDay(s, g, today)
	if on.IsZero() {
		return t, false
	}
	a, sound := AliveOf(s.TotalsOn(on))
	return GateTank{SeasonID: s.ID, Site: s.Site.Name, Tank: s.Tank.Name, On: on, Start: a.Start, Alive: a.Left,
		Share: float64(a.Left) / float64(a.Start)}, sound
}

// atGate compares the tanks that have passed a gate; ok is false with fewer than
// two.
func atGate(g Gate, tanks []GateTank) (r GateResult, ok bool) {
	r.Gate, r.Tanks = g, slices.Clone(tanks)
	if len(r.Tanks) < 2 {
		return r, false
	}
	slices.SortFunc(r.Tanks, func(x, y GateTank) int {
		return cmp.Or(strings.Compare(x.Site, y.Site), strings.Compare(x.Tank, y.Tank),
			strings.Compare(string(x.SeasonID), string(y.SeasonID)))
	})
	alive, start := make([]int, len(r.Tanks)), make([]int, len(r.Tanks))
	for i, t := range r.Tanks {
		alive[i], start[i] = t.Alive, t.Start
	}
	low, f, err := stats.LowTanks(alive, start, stats.GateLevel)
	if err != nil && !errors.Is(err, stats.ErrTooFew) {
		return r, false
	}
	r.Funnel, r.Named, r.Low = f, err == nil, len(low)
	for _, i := range low {
		r.Tanks[i].Low = true
	}
	for i := range r.Tanks {
		t := &r.Tanks[i]
		if t.Shrunk, t.ShrunkBetween, err = stats.Shrunk(t.Alive, t.Start, f.A, f.B, 0.90); err != nil {
			return r, false
		}
	}
	r.Bands = bands(f, slices.Min(start), slices.Max(start))
	return r, true
}

// bands works out the curves of the funnel from the smallest to the largest
// tank.
func bands(f stats.Funnel, least, most int) []FunnelLimit {
	const points = 40
	step := max(1, (most-least)/points)
	var out []FunnelLimit
	for n := least; ; n += step {
		n = min(n, most)
		l := FunnelLimit{Start: n, Centre: f.Centre}
		a, b := f.Limits(n, 0.95)
		c, d := f.Limits(n, 0.998)
		l.Low95, l.High95, l.Low998, l.High998 = float64(a)/float64(n), float64(b)/float64(n), float64(c)/float64(n),
			float64(d)/float64(n)
		out = append(out, l)
		if n == most {
			return out
		}
	}
}

// gateDay is the day on which a season passed a gate, zero when it has not yet.
// A season that ended between two gates has not passed the second.
func gateDay(s *logbook.Season, g Gate, today civil.Date) civil.Date {
	left := leftOn(s, today)
	switch g {
	case GateHatch:
		if s.Deliveries[0].Stage.Order() >= logbook.Alevin.Order() {
			return civil.Date{}
		}
		return firstSeen(s, logbook.Alevin, today)
	case GateSwimUp:
		if s.Deliveries[0].Stage.Order() >= logbook.Fry.Order() {
			return civil.Date{}
		}
		return firstSeen(s, logbook.Fry, today)
	case GateMidFry:
		first := firstSeen(s, logbook.Fry, today)
		if first.IsZero() {
			return civil.Date{}
		}
		on := first.AddDays(midFryDays)
		if on.After(today) || !left.IsZero() && !left.After(on) || !s.ClosedOn.IsZero() && !s.ClosedOn.After(on) {
			return civil.Date{}
		}
		return on
	}
	return left
}

// leftOn is the day of the last release, zero when none took place or fish are
// still in the tank.
func leftOn(s *logbook.Season, today civil.Date) civil.Date {
	var last civil.Date
	for i := range s.Events {
		if e := &s.Events[i]; e.Kind == logbook.Released && !e.On.After(today) {
			last = civil.Max(last, e.On)
		}
	}
	if last.IsZero() || s.TotalsOn(today).Alive > 0 {
		return civil.Date{}
	}
	return last
}
