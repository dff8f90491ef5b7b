package forecast

import (
	"math"
	"slices"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// Temperatures outside these are not of water in which eggs live and are not
// used; a tank "at 45" is one logged in Fahrenheit. Local choice.
const (
	coldest units.Celsius = -5
	warmest units.Celsius = 35
)

// ConfirmTemperature in the confirmed fields of a check says that a person stands by
// a surprising temperature.
const ConfirmTemperature = "temperature"

// ConfirmLogger in the confirmed fields of a check says that a person looked at
// the difference between the check and the logger of that day; the logger stays
// in use and nobody is asked again.
const ConfirmLogger = "logger"

// recentDays is over how many measured days the recent mean goes; common
// practice, no source.
const recentDays = 7

// temperatures are the daily means of a season from the start to today, and what
// is expected after.
type temperatures struct {
	day      []units.Celsius // one per day, start to today
	source   []Source
	measured int // days measured
	missing  int // days not measured, today left out while it is not over
	last     int // index of the last measured day, -1 when none
	recent   units.Celsius
	follows  bool
	told     units.Optional[units.Celsius] // for the days ahead, by the caller
	setpoint units.Optional[units.Celsius] // today
	drift    float64                       // C per square root of a day
	trend    float64                       // C per day lately
	season   *logbook.Season
	lastPlan civil.Date // last planned setpoint change
	unlikely int        // values left out because no water is so
	alone    int        // index of the newest day left out because its reading stands alone, -1 when none
}

// dayStat gathers one day's values.
type dayStat struct {
	check, checkN float64
	settled       bool    // a person looked at how check and logger differ
	sure          bool    // a person stands by the check
	sum, weight   float64 // logger: time-weighted sum
	plain         float64
	n             int
	lo, hi        float64
}

// dailyTemperatures works out one temperature for each day. A day's logger
// readings are averaged over time; where they cover under half of the day and a
// check was made, the check counts. Suspect readings are left out.
func dailyTemperatures(s *logbook.Season, from, today civil.Date, future units.Optional[units.Celsius], set Settings,
	r *Result) temperatures {
	t := temperatures{told: future}
	stats := make([]dayStat, today.Sub(from)+1)
	t.gatherChecks(s, from, stats)
	t.gatherReadings(s, from, stats)
	t.settle(s, from, stats, set)
	for i := range stats {
		if d := &stats[i]; t.source[i] == FromLogger && d.checkN > 0 && !d.settled {
			c := d.check / d.checkN
			if off := math.Max(d.lo-c, c-d.hi); off > set.DisagreeBy {
				r.Questions = append(r.Questions,
					Question{On: from.AddDays(i), Key: "forecast.question.check_and_logger", Used: FromLogger,
						Args: logbook.Args{"On": from.AddDays(i), "Check": units.Celsius(c), "Logger": t.day[i]}})
			}
		}
	}
	return t
}

// settle fills the temperatures from what each day to today measured. It uses the
// room that t already has.
func (t *temperatures) settle(s *logbook.Season, from civil.Date, stats []dayStat, set Settings) {
	n := len(stats)
	t.day, t.source = resized(t.day, n), resized(t.source, n)
	t.season, t.last, t.measured, t.missing, t.lastPlan = s, -1, 0, 0, civil.Date{}
	for i := range stats {
		v, src := stats[i].value()
		t.day[i], t.source[i] = units.Celsius(v), src
	}
	t.leaveOutAlone(s, from, stats)
	for i := range stats {
		if t.source[i] != "" {
			t.measured++
			t.last = i
		}
	}
	today := from.AddDays(n - 1)
	t.setpoint = s.SetpointOn(today)
	for i := range s.Events {
		if e := &s.Events[i]; e.Kind == logbook.SetpointChange && e.Setpoint.OK && e.On.After(today) {
			t.lastPlan = civil.Max(t.lastPlan, e.On)
		}
	}
	t.expect(s, from, set)
	t.fill(from)
	t.drift, t.trend = t.driftSD(set), t.trendNow()
}

// aloneBy is how far, in C, a check may lie from the readings around it before it
// needs a second one: a tank whose chiller died in a room at 20 C (time constant 36
// h) warms from 7 C by 6.3 C in a day. Local choice.
const aloneBy = 6

// leaveOutAlone drops days whose only reading is a check that stands alone: far from
// the reading before it and, where there is one, far to the same side from the one
// after it. The newest counts as soon as a second reading agrees or a person
// confirms it. Water near its setpoint is what it should be.
func (t *temperatures) leaveOutAlone(s *logbook.Season, from civil.Date, stats []dayStat) {
	t.alone = -1
	prev := -1
	for i := range stats {
		if t.source[i] == "" {
			continue
		}
		if prev >= 0 && t.source[i] == FromCheck && !stats[i].sure {
			next := i + 1
			for next < len(stats) && t.source[next] == "" {
				next++
			}
			off := float64(t.day[i] - t.day[prev])
			back := off
			if next < len(stats) {
				back = float64(t.day[i] - t.day[next])
			}
			if math.Abs(off) > aloneBy && math.Abs(back) > aloneBy && off*back > 0 &&
				!atSetpoint(s, from.AddDays(i), t.day[i]) {
				t.source[i], t.day[i], t.alone = "", 0, i
				continue
			}
		}
		prev = i
	}
}

func atSetpoint(s *logbook.Season, on civil.Date, c units.Celsius) bool {
	sp := s.SetpointOn(on)
	return sp.OK && math.Abs(float64(c-sp.V)) <= aloneBy/2
}

// resized returns n values in the room of x where there is enough.
func resized[T any](x []T, n int) []T {
	if cap(x) < n {
		return make([]T, n, n+cap(x)/2)
	}
	return x[:n]
}

func plausible(c units.Celsius) bool { return c >= coldest && c <= warmest } // false for NaN

func (t *temperatures) gatherChecks(s *logbook.Season, from civil.Date, stats []dayStat) {
	for i := range s.Checks {
		c := &s.Checks[i]
		k := c.On.Sub(from)
		if !c.Temperature.OK || k < 0 || k >= len(stats) {
			continue
		}
		if !plausible(c.Temperature.V) {
			t.unlikely++
			continue
		}
		stats[k].check += float64(c.Temperature.V)
		stats[k].checkN++
		stats[k].settled = stats[k].settled || slices.Contains(c.Confirmed, ConfirmLogger)
		stats[k].sure = stats[k].sure || slices.Contains(c.Confirmed, ConfirmTemperature)
	}
}

// gatherReadings weighs each reading by half of the time to its neighbours of
// the same day; the first and the last count the same on both sides, so that
// evenly spaced readings give their plain mean.
func (t *temperatures) gatherReadings(s *logbook.Season, from civil.Date, stats []dayStat) {
	rs := s.Readings
	for i := range rs {
		k := rs[i].On.Sub(from)
		if rs[i].Quality != logbook.Good || k < 0 || k >= len(stats) {
			continue
		}
		if !plausible(rs[i].Temperature) {
			t.unlikely++
			continue
		}
		before, after := gap(rs, i, -1), gap(rs, i, 1)
		if before < 0 {
			before = math.Max(after, 0)
		}
		if after < 0 {
			after = before
		}
		hours := (before + after) / 2
		if rs[i].At.IsZero() { // a daily mean
			hours = 24
		}
		stats[k].add(float64(rs[i].Temperature), hours)
	}
}

// gap returns the hours to the next good reading of the same day in a direction,
// or -1 when there is none.
func gap(rs []logbook.Reading, i, step int) float64 {
	for j := i + step; j >= 0 && j < len(rs) && rs[j].On == rs[i].On; j += step {
		if rs[j].Quality == logbook.Good && plausible(rs[j].Temperature) {
			return math.Abs(rs[j].At.Sub(rs[i].At).Hours())
		}
	}
	return -1
}

func (d *dayStat) add(c, hours float64) {
	if d.n == 0 || c < d.lo {
		d.lo = c
	}
	if d.n == 0 || c > d.hi {
		d.hi = c
	}
	d.sum += c * hours
	d.weight += hours
	d.plain += c
	d.n++
}

func (d *dayStat) value() (float64, Source) {
	const half = 12 // hours
	if d.n > 0 && (d.weight >= half || d.checkN == 0) {
		if d.weight > 0 {
			return d.sum / d.weight, FromLogger
		}
		return d.plain / float64(d.n), FromLogger
	}
	if d.checkN > 0 {
		return d.check / d.checkN, FromCheck
	}
	return 0, ""
}

// fill gives the days without a reading an estimate.
func (t *temperatures) fill(from civil.Date) {
	prev := -1
	for i := range t.day {
		if t.source[i] != "" {
			t.interpolate(prev, i)
			prev = i
		}
	}
	for i := prev + 1; i < len(t.day); i++ {
		t.day[i], t.source[i] = t.ahead(from.AddDays(i))
		if i < len(t.day)-1 {
			t.missing++
		}
	}
}

func (t *temperatures) interpolate(prev, next int) {
	for j := prev + 1; j < next; j++ {
		if prev < 0 {
			t.day[j] = t.day[next]
		} else {
			w := float64(j-prev) / float64(next-prev)
			t.day[j] = t.day[prev] + units.Celsius(w)*(t.day[next]-t.day[prev])
		}
		t.source[j] = Interpolated
		t.missing++
	}
}
