package forecast

import (
	"math"
	"sort"

	"reddside/internal/biology"
	"reddside/internal/civil"
	"reddside/internal/units"
)

// Limits of how far ahead a forecast looks, days; local choice.
const (
	maxAhead  = 400  // the daily table
	neverDays = 1500 // beyond this the answer is "never at this temperature"
)

// step is the state at the end of one day.
type step struct {
	x2, x3       float64 // parts of the way to half hatched and to swim-up
	s2, s3       float64 // sums of the rates' slopes by temperature
	miss2, miss3 float64 // variance that days without a reading have added
}

// line is the development over time of one tank: past, today and ahead.
type line struct {
	dev     biology.Development
	st      start
	temps   temperatures
	k       int // index of today
	steps   []step
	days    []Day
	last    rates   // of the last day, which go on
	ratio   float64 // swim-up as a multiple of hatch, 0 when a model of its own
	outside int     // measured days outside the hatch model's range
	known   []knownRates
}

// knownRates remembers the rates of a day, whose temperature seldom changes when
// the line is run again for the next day.
type knownRates struct {
	c units.Celsius
	q rates
}

// rates is the daily progress at one temperature.
type rates struct{ r2, s2, r3, s3 float64 }

func (l *line) rates(c units.Celsius) (q rates) {
	q.r2, q.s2 = l.dev.Hatch.Rate(c)
	if l.ratio > 0 {
		q.r3, q.s3 = q.r2/l.ratio, q.s2/l.ratio
	} else {
		q.r3, q.s3 = l.dev.SwimUpRate(c)
	}
	return q
}

// ratesOn is rates of the temperature of a day that is not ahead.
func (l *line) ratesOn(i int, c units.Celsius) rates {
	if i >= len(l.known) {
		return l.rates(c)
	}
	if k := &l.known[i]; k.c != c || k.q == (rates{}) {
		*k = knownRates{c, l.rates(c)}
	}
	return l.known[i].q
}

// newLine sums the rates day by day, and on until swim-up.
func newLine(dev biology.Development, st start, temps temperatures, today civil.Date, set Settings) *line {
	l := &line{dev: dev, st: st}
	l.run(temps, today, set, true)
	return l
}

// run sums the rates to the end of today and, when ahead is set, on until
// swim-up. It uses the room that l already has.
func (l *line) run(temps temperatures, today civil.Date, set Settings, ahead bool) {
	dev, st := l.dev, l.st
	l.temps, l.k, l.outside = temps, today.Sub(st.on), 0
	l.ratio, _ = dev.SwimUp.RatioTo(dev.Hatch)
	if room := l.k + 181; cap(l.steps) < room {
		room += cap(l.steps) // run again: more days will follow
		l.steps = make([]step, 0, room)
		l.days = make([]Day, 0, room)
	}
	l.steps, l.days = l.steps[:0], l.days[:0]

	x, u := step{x2: st.index, x3: st.swimUp}, st.units
	lastPlan := temps.lastPlan.Sub(st.on) // far below 0 when nothing is planned
	var q rates
	prev := units.Celsius(math.NaN())
	c, src := temps.recent, RecentMean
	gapN, gapS2, gapS3 := 0, 0.0, 0.0
	for i := 0; i <= l.k+maxAhead; i++ {
		if i <= l.k {
			c, src = temps.day[i], temps.source[i]
		} else if i == l.k+1 || i <= lastPlan {
			c, src = temps.ahead(st.on.AddDays(i))
		}
		if c != prev {
			q = l.ratesOn(i, c)
			prev = c
		}
		x.x2 += q.r2
		x.x3 += q.r3
		x.s2 += q.s2
		x.s3 += q.s3
		u += biology.ThermalUnitsOfDay(c)
		if i <= l.k {
			if src == FromCheck || src == FromLogger {
				if !dev.Hatch.InRange(c) {
					l.outside++
				}
			} else {
				gapN, gapS2, gapS3 = gapN+1, gapS2+q.s2, gapS3+q.s3
			}
		}
		if ahead && gapN > 0 && (i == l.k || (i < l.k && measured(temps.source[i+1]))) {
			v := temps.gapVar(gapN, set)
			x.miss2 += gapS2 * gapS2 * v
			x.miss3 += gapS3 * gapS3 * v
			gapN, gapS2, gapS3 = 0, 0, 0
		}
		l.steps = append(l.steps, x)
		l.days = append(l.days, Day{On: st.on.AddDays(i), Temperature: units.Some(c), Source: src, ThermalUnits: u,
			Index: x.x2, Estimated: !measured(src)})
		if i > l.k && i > lastPlan && (x.x2 >= 1 && x.x3 >= 1 || q.r2 == 0) || i == l.k && !ahead {
			break
		}
	}
	l.last = q
}

func measured(s Source) bool { return s == FromCheck || s == FromLogger }

// extend carries the daily table on to the last 90 % date.
func (l *line) extend(r *Result) {
	end := civil.Max(civil.Max(r.Eyed.P90, r.Hatch.P90), r.SwimUp.P90)
	n := min(end.Sub(l.st.on), l.k+maxAhead)
	last := r.Days[len(r.Days)-1]
	q := l.last
	for i := len(r.Days); i <= n; i++ {
		last.On = last.On.AddDays(1)
		last.Index += q.r2
		last.ThermalUnits += biology.ThermalUnitsOfDay(last.Temperature.V)
		r.Days = append(r.Days, last)
	}
}

// at returns the state t days after the record starts (0 is the beginning of the
// first day). Between two ends of day it is drawn straight; beyond the last day
// the last day's rates go on.
func (l *line) at(t float64) step {
	if t <= 0 {
		return step{x2: l.st.index, x3: l.st.swimUp}
	}
	i := int(math.Min(t, float64(len(l.steps))))
	if i >= len(l.steps) {
		n := len(l.steps)
		q, x := l.last, l.steps[n-1]
		d := t - float64(n)
		x.x2, x.x3, x.s2, x.s3 = x.x2+d*q.r2, x.x3+d*q.r3, x.s2+d*q.s2, x.s3+d*q.s3
		return x
	}
	a, b := step{x2: l.st.index, x3: l.st.swimUp}, l.steps[i]
	if i > 0 {
		a = l.steps[i-1]
	}
	w := t - float64(i)
	return step{x2: a.x2 + w*(b.x2-a.x2), x3: a.x3 + w*(b.x3-a.x3), s2: a.s2 + w*(b.s2-a.s2), s3: a.s3 + w*(b.s3-a.s3),
		miss2: b.miss2, miss3: b.miss3}
}

// moment returns when a sum is reached, in days after the record starts; +Inf
// when never, and 0 when it was reached before.
func (l *line) moment(x float64, of func(*step) float64) float64 {
	n := len(l.steps)
	i := sort.Search(n, func(i int) bool { return of(&l.steps[i]) >= x })
	first := step{x2: l.st.index, x3: l.st.swimUp}
	if i == n {
		q := l.last
		r := step{x2: q.r2, x3: q.r3}
		if of(&r) <= 0 {
			return math.Inf(1)
		}
		return float64(n) + (x-of(&l.steps[n-1]))/of(&r)
	}
	a := of(&first)
	if i > 0 {
		a = of(&l.steps[i-1])
	}
	b := of(&l.steps[i])
	if x <= a || b <= a {
		return float64(i)
	}
	return float64(i) + (x-a)/(b-a)
}

func toHatch(s *step) float64  { return s.x2 }
func toSwimUp(s *step) float64 { return s.x3 }

// date turns a moment into a civil date: the nearest one, as if days counted
// from midday. Zero when the moment is never.
func (l *line) date(t float64) civil.Date {
	if !(t < neverDays+float64(l.k)) {
		return civil.Date{}
	}
	return l.st.on.AddDays(int(math.Floor(t + 0.5 + 1e-9)))
}

// on is the earliest moment that rounds to a day after the record starts.
func (l *line) on(day int) float64 { return math.Max(0, float64(day)-0.5) }
