package rules

import (
	"slices"
	"strings"
	"time"

	"reddside/internal/care"
	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/stats"
	"reddside/internal/units"
)

// assessor holds what the rules of one assessment share.
type assessor struct {
	s        *logbook.Season // rows in order, nothing after today
	today    civil.Date
	now      time.Time
	p        *Profile
	species  int
	forecast *forecast.Result // nil when there is none to use
	out      Assessment
	zone     *time.Location // of the site, once it is needed

	observations []observation // stages seen, oldest first
	points       []point       // temperatures, oldest first
	// first day on which each stage, or a later one, was seen, by its order
	first [stageSlots]civil.Date

	track *track // what the days of a replay share, nil otherwise

	emptied bool // every fish died: only the dead count still speaks

	awayNow   stats.Departure // of the newest reading, once awayKnown
	awayKnown bool

	// What explains a temperature away from where it should be.
	warmCause, coldCause bool
	fungusTold           bool // the dead-count flag names the fungus
}

// point is one temperature: a check's reading or a day of a logger.
type point struct {
	on           civil.Date
	t, low, high float64 // mean, lowest and highest, Celsius
	check        int     // index of the check, -1 for a logger's day
	confirmed    bool
}

// observation is a stage seen at a check.
type observation struct {
	on    civil.Date
	order int // of the stage, from 1
}

func newAssessor(in Input) *assessor {
	a := &assessor{today: in.Today, now: in.Now, p: in.Profile, forecast: in.Forecast}
	if a.p == nil {
		a.p = StockProfile()
	}
	if a.forecast != nil && !a.forecast.Ok() {
		a.forecast = nil
	}
	a.s = upTo(in.Season, in.Today)
	if a.now.IsZero() {
		// The end of the day everywhere.
		a.now = in.Today.AddDays(1).UTC().Add(12 * time.Hour)
	}
	a.species = speciesSlot(a.s.Lot.Species)
	a.gatherObservations()
	a.gatherPoints()
	a.begin()
	return a
}

// begin tells what the day is like before any rule speaks.
func (a *assessor) begin() {
	out := &a.out
	out.SeasonID, out.On = a.s.ID, a.today
	out.Totals = a.s.TotalsOn(a.today)
	out.Active = a.active()
	if last := a.s.LastCheck(a.today); last != nil {
		out.LastCheck = LastCheck{On: last.On, Age: a.today.Sub(last.On)}
		out.CheckedToday = last.On == a.today
	}
	out.Closed = a.s.SchoolClosed(a.today)
	out.DueToday = out.Active && a.s.CheckDue(a.today, a.p.any(CheckWeekends) != 0)
	out.DeadThisWeek = a.deadSince(a.today.AddDays(-6))
}

// active reports whether fish are expected in the tank. It also notes a tank
// that deaths have emptied: nothing is due there, but its deaths are still told.
func (a *assessor) active() bool {
	if !a.s.Open(a.today) || a.s.ClosedOn == a.today {
		return false
	}
	t := a.out.Totals
	if t.Alive > 0 || t.Unexplained < 0 {
		return true
	}
	left := civil.Max(a.lastEvent(logbook.Released), a.lastEvent(logbook.MovedOut))
	died := a.newest(func(c *logbook.Check) bool { n, _ := c.Dead(); return n > 0 })
	a.emptied = died != nil && died.On.After(left)
	return false
}

func (a *assessor) deadSince(d civil.Date) int {
	n := 0
	for i := len(a.s.Checks) - 1; i >= 0 && !a.s.Checks[i].On.Before(d); i-- {
		dead, _ := a.s.Checks[i].Dead()
		n += dead
	}
	return n
}

// limit returns a threshold for the tank's species and a stage, by its order;
// NaN when there is none, which no comparison with it satisfies.
func (a *assessor) limit(l Limit, stage int) float64 { return a.p.table[l][a.species][stage] }

// raise adds the flag of a rule.
func (a *assessor) raise(r Rule, f Flag) {
	f.Rule = r.ID
	if f.Why.Key == "" {
		f.Why = r.Why
	}
	if f.Class.Key == "" {
		f.Class = r.Class
	}
	if f.Within.Key == "" {
		f.Within = r.Within
	}
	if f.Source == "" && !f.LocalChoice && a.track == nil {
		r = r.sourced(a.p.rows)
		f.Source, f.LocalChoice = r.Source, r.LocalChoice
	}
	if f.Do == nil {
		f.Do = r.doIn(a.situationOf(&f))
	}
	f.Who, f.ShelveDays = r.Who, r.ShelveDays
	a.out.Flags = append(a.out.Flags, f)
}

// situationOf is the tank's situation as a flag sees it.
func (a *assessor) situationOf(f *Flag) care.Situation {
	s := a.out.Situation
	s.Act = f.Kind == Act
	s.Old = ageing(f.Rule) && a.today.Sub(f.Since) > int(a.p.any(FoodHoldDays))
	return s
}

// upTo returns the season with its rows in order and nothing after day d. The
// rows are shared with s unless they were out of order; s is not changed.
func upTo(s *logbook.Season, d civil.Date) *logbook.Season {
	c := *s
	c.Deliveries = ordered(s.Deliveries, compareDeliveries)
	c.Checks = ordered(s.Checks, compareChecks)
	c.Events = ordered(s.Events, compareEvents)
	c.Readings = ordered(s.Readings, compareReadings)
	c.Samples = ordered(s.Samples, compareSamples)
	c.Deliveries = cut(c.Deliveries, func(r *logbook.Delivery) bool { return r.On.After(d) })
	c.Checks = cut(c.Checks, func(r *logbook.Check) bool { return r.On.After(d) })
	c.Events = cut(c.Events, func(r *logbook.Event) bool { return r.On.After(d) })
	c.Samples = cut(c.Samples, func(r *logbook.Sample) bool { return r.On.After(d) })
	c.Readings = cut(c.Readings, func(r *logbook.Reading) bool { return r.On.After(d) })
	if c.ClosedOn.After(d) {
		c.ClosedOn = civil.Date{}
	}
	return &c
}

func ordered[T any](rows []T, compare func(x, y *T) int) []T {
	for i := 1; i < len(rows); i++ {
		if compare(&rows[i-1], &rows[i]) > 0 {
			rows = slices.Clone(rows)
			slices.SortStableFunc(rows, func(x, y T) int { return compare(&x, &y) })
			return rows
		}
	}
	return rows
}

// cut drops the rows at the end for which after holds.
func cut[T any](rows []T, after func(*T) bool) []T {
	n := len(rows)
	for n > 0 && after(&rows[n-1]) {
		n--
	}
	return rows[:n:n]
}

func compareDeliveries(x, y *logbook.Delivery) int {
	if c := x.On.Compare(y.On); c != 0 {
		return c
	}
	return strings.Compare(string(x.ID), string(y.ID))
}

func compareChecks(x, y *logbook.Check) int {
	if c := x.On.Compare(y.On); c != 0 {
		return c
	}
	if c := x.Slot.Order() - y.Slot.Order(); c != 0 {
		return c
	}
	return strings.Compare(string(x.ID), string(y.ID))
}

// compareEvents puts events of a day in the order of the clock; those without a
// time come first, in the order in which they were entered.
func compareEvents(x, y *logbook.Event) int {
	if c := x.On.Compare(y.On); c != 0 {
		return c
	}
	if c := strings.Compare(x.Time, y.Time); c != 0 {
		return c
	}
	if c := x.ReceivedAt.Compare(y.ReceivedAt); c != 0 {
		return c
	}
	return strings.Compare(string(x.ID), string(y.ID))
}

func compareSamples(x, y *logbook.Sample) int {
	if c := x.On.Compare(y.On); c != 0 {
		return c
	}
	return strings.Compare(string(x.ID), string(y.ID))
}

func compareReadings(x, y *logbook.Reading) int {
	if c := x.On.Compare(y.On); c != 0 {
		return c
	}
	if c := x.At.Compare(y.At); c != 0 {
		return c
	}
	switch {
	case x.Temperature < y.Temperature:
		return -1
	case x.Temperature > y.Temperature:
		return 1
	}
	return 0
}

// gatherPoints lists the temperatures: a day's logger readings as one point,
// then the checks of the day. Suspect readings are left out.
func (a *assessor) gatherPoints() {
	days := 0
	for i := range a.s.Readings {
		if i == 0 || a.s.Readings[i].On != a.s.Readings[i-1].On {
			days++
		}
	}
	a.points = make([]point, 0, len(a.s.Checks)+days)
	r := 0
	for i := range a.s.Checks {
		c := &a.s.Checks[i]
		if !c.Temperature.OK {
			continue
		}
		r = a.loggerDays(r, c.On)
		t := float64(c.Temperature.V)
		a.points = append(a.points, point{
			on: c.On, t: t, low: t, high: t, check: i, confirmed: slices.Contains(c.Confirmed, "temperature"),
		})
	}
	a.loggerDays(r, a.today)
}

// loggerDays adds the logger's days from reading r to day last, and returns the
// first reading after it.
func (a *assessor) loggerDays(r int, last civil.Date) int {
	rows := a.s.Readings
	for r < len(rows) && !rows[r].On.After(last) {
		p := point{on: rows[r].On, check: -1}
		n, sum := 0, 0.0
		for ; r < len(rows) && rows[r].On == p.on; r++ {
			if rows[r].Quality == logbook.Suspect {
				continue
			}
			t := float64(rows[r].Temperature)
			if n == 0 {
				p.low, p.high = t, t
			}
			p.low, p.high = min(p.low, t), max(p.high, t)
			sum += t
			n++
		}
		if n > 0 {
			p.t = sum / float64(n)
			a.points = append(a.points, p)
		}
	}
	return r
}

// latestTemperature returns the newest temperature and the days of the
// sparkline; a check of the day goes before the logger.
func (a *assessor) latestTemperature() (Latest, []DayTemperature) {
	var latest Latest
	days := make([]DayTemperature, sparkDays)
	first := a.today.AddDays(1 - sparkDays)
	for i := range days {
		days[i].On = first.AddDays(i)
	}
	for i := range a.points {
		pt := &a.points[i]
		if d := pt.on.Sub(first); d >= 0 {
			days[d].Value = units.Some(units.Celsius(pt.t))
		}
		latest = Latest{On: pt.on, Value: units.Celsius(pt.t), FromLogger: pt.check < 0}
	}
	return latest, days
}

// windows is the forecast with its windows, nil when there is none. A replay
// works them out when a rule asks.
func (a *assessor) windows() *forecast.Result {
	if a.forecast != nil && a.track != nil {
		return a.track.trajectory.Windows()
	}
	return a.forecast
}

func (a *assessor) nextEvent() NextEvent {
	if a.forecast == nil || !a.out.Active {
		return NextEvent{}
	}
	for _, e := range forecast.Events() {
		w := a.windows().Window(e)
		if w.Ok() && w.Observed.IsZero() && !w.P90.Before(a.today) {
			return NextEvent{Event: e, P10: w.P10, P50: w.P50, P90: w.P90}
		}
	}
	return NextEvent{}
}
