package report

import (
	"sort"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/stats"
)

// life is what happened to the animals of a season, day by day.
type life struct {
	s     *logbook.Season
	today civil.Date
	from  civil.Date
	start int // on the first day
	days  []lifeDay
}

type lifeDay struct {
	on civil.Date
	stats.LifeEvent
}

// newLife gathers the days on which the number alive changed. A count of all that
// finds fewer than it should takes the missing ones out of what is known: they
// may have died or not. One that finds more puts them back.
func newLife(s *logbook.Season, today civil.Date) *life {
	l := &life{s: s, today: today, from: s.StartedOn()}
	at := map[civil.Date]*lifeDay{}
	day := func(d civil.Date) *lifeDay {
		d = civil.Max(d, l.from)
		if at[d] == nil {
			at[d] = &lifeDay{on: d}
		}
		return at[d]
	}
	for i := range s.Deliveries {
		if d := &s.Deliveries[i]; !d.On.After(today) {
			day(d.On).Added += d.Count
		}
	}
	for i := range s.Checks {
		if c := &s.Checks[i]; !c.On.After(today) {
			if n, _ := c.Dead(); n > 0 {
				day(c.On).Dead += n
			}
		}
	}
	for i := range s.Events {
		e := &s.Events[i]
		if e.On.After(today) {
			continue
		}
		switch e.Kind {
		case logbook.MovedIn:
			day(e.On).Added += e.Count.V
		case logbook.MovedOut, logbook.SampleTaken, logbook.Released:
			day(e.On).Removed += e.Count.V
		}
	}
	for i := range s.Samples {
		if m := &s.Samples[i]; !m.On.After(today) && m.Lost.V > 0 {
			day(m.On).Removed += m.Lost.V
		}
	}
	for _, d := range at {
		l.days = append(l.days, *d)
	}
	sort.Slice(l.days, func(i, j int) bool { return l.days[i].on.Before(l.days[j].on) })
	l.countAgain()
	for i := range l.days {
		l.days[i].Day = float64(l.days[i].on.Sub(l.from))
		if l.days[i].on == l.from {
			l.start, l.days[i].Added = l.days[i].Added, 0
		}
	}
	return l
}

// countAgain brings the days in line with the counts of all living.
func (l *life) countAgain() {
	for i := range l.s.Events {
		e := &l.s.Events[i]
		if e.Kind != logbook.Counted || !e.Count.OK || e.On.After(l.today) {
			continue
		}
		alive, k := 0, -1
		for j := range l.days {
			if l.days[j].on.After(e.On) {
				break
			}
			alive += l.days[j].Added - l.days[j].Dead - l.days[j].Removed
			k = j
		}
		if k < 0 {
			continue
		}
		if gap := alive - e.Count.V; gap > 0 {
			l.days[k].Removed += gap
		} else {
			l.days[k].Added -= gap
		}
	}
}

// disturbed reports whether animals came or left alive before the last death:
// then the share of those that came says less than the product over the days.
func (l *life) disturbed() bool {
	last := -1
	for i := range l.days {
		if l.days[i].Dead > 0 {
			last = i
		}
	}
	for i := 0; i <= last; i++ {
		if l.days[i].Added > 0 || i < last && l.days[i].Removed > 0 {
			return true
		}
	}
	return false
}

// curve is the step curve with its interval; ok is false when more died or left
// than there were.
func (l *life) curve() ([]CurvePoint, bool) {
	events := make([]stats.LifeEvent, len(l.days))
	dead := map[float64]int{}
	for i := range l.days {
		events[i] = l.days[i].LifeEvent
		dead[events[i].Day] = events[i].Dead
	}
	steps, err := stats.KaplanMeier(l.start, events, SurvivalPhi, SurvivalLevel)
	if err != nil {
		return nil, false
	}
	var out []CurvePoint
	for _, s := range steps {
		out = append(out, CurvePoint{On: l.from.AddDays(int(s.Day)), AtRisk: s.AtRisk, Dead: dead[s.Day],
			Survival: s.Survival,
			Lower:    s.Interval.Lower, Upper: s.Interval.Upper, HasInterval: s.HasInterval})
	}
	return out, true
}

// stages splits the season at the first checks that saw alevins and fry.
func (l *life) stages() []StageSurvival {
	end := l.today
	if !l.s.ClosedOn.IsZero() {
		end = civil.Min(end, l.s.ClosedOn)
	}
	type part struct {
		stage logbook.Stage
		from  civil.Date
	}
	parts := []part{{logbook.EyedEgg, l.from}}
	if l.s.Deliveries[0].Stage.Order() >= logbook.Alevin.Order() {
		parts[0].stage = logbook.Alevin
	}
	if l.s.Deliveries[0].Stage.Order() >= logbook.Fry.Order() {
		parts[0].stage = logbook.Fry
	}
	for _, stage := range []logbook.Stage{logbook.Alevin, logbook.Fry} {
		if on := firstSeen(l.s, stage, end); !on.IsZero() && stage.Order() > parts[len(parts)-1].stage.Order() {
			if on == parts[len(parts)-1].from {
				parts = parts[:len(parts)-1]
			}
			parts = append(parts, part{stage, civil.Max(on, l.from)})
		}
	}
	var out []StageSurvival
	for i, p := range parts {
		to := end
		if i+1 < len(parts) {
			to = parts[i+1].from.AddDays(-1)
		}
		n, dead := l.between(p.from, to)
		share, ok := shareOf(n-dead, n-dead, n)
		if !ok {
			continue
		}
		v := StageSurvival{Stage: p.stage, From: p.from, To: to, Share: share}
		if dead == 0 {
			v.ZeroUpper, _ = stats.ZeroEventsUpper(n, SurvivalLevel)
		}
		out = append(out, v)
	}
	return out
}

// between returns those alive on the morning of a day, with all that came until
// another, and how many of them died.
func (l *life) between(from, to civil.Date) (n, dead int) {
	n = l.start
	for i := range l.days {
		d := &l.days[i]
		switch {
		case d.on.After(to):
		case d.on.Before(from):
			n += d.Added - d.Dead - d.Removed
		default:
			n += d.Added
			dead += d.Dead
		}
	}
	return n, dead
}

// firstSeen is the first day up to another on which a stage, or a later one, was
// seen; half hatched is the alevin stage. Zero when never.
func firstSeen(s *logbook.Season, stage logbook.Stage, upTo civil.Date) civil.Date {
	var first civil.Date
	for i := range s.Checks {
		c := &s.Checks[i]
		seen := c.Stage.Order()
		switch c.Hatched {
		case logbook.HatchedHalf, logbook.HatchedMost, logbook.HatchedAll:
			seen = max(seen, logbook.Alevin.Order())
		}
		if seen >= stage.Order() && !c.On.After(upTo) && (first.IsZero() || c.On.Before(first)) {
			first = c.On
		}
	}
	return first
}
