package forecast

import (
	"math"
	"slices"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// expect finds what is usual lately and whether the tank follows its setpoint. Both
// are medians, so that a failure that was repaired, or a slip, does not bend the
// future. A chiller that has held its setpoint on the last two measured days works
// again, whatever was before.
func (t *temperatures) expect(s *logbook.Season, from civil.Date, set Settings) {
	var values, off [recentDays]float64
	n, compared, near := 0, 0, 0
	for i := t.last; i >= 0 && n < recentDays; i-- {
		if t.source[i] == "" {
			continue
		}
		values[n] = float64(t.day[i])
		n++
		if sp := s.SetpointOn(from.AddDays(i)); sp.OK {
			off[compared] = math.Abs(float64(t.day[i] - sp.V))
			if n <= 2 && off[compared] <= set.FollowWithin {
				near++
			}
			compared++
		}
	}
	if n == 0 {
		t.recent, t.follows = t.setpoint.V, t.setpoint.OK
		return
	}
	t.recent = units.Celsius(median(values[:n]))
	t.follows = t.setpoint.OK && compared > 0 &&
		(median(off[:compared]) <= set.FollowWithin || (s.Tank.HasChiller && near == 2))
}

// median returns the middle of some values, which it puts in order; 0 for none.
func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	slices.Sort(v)
	n := len(v)
	return (v[(n-1)/2] + v[n/2]) / 2
}

// ahead returns what is expected on a day after the last reading.
func (t *temperatures) ahead(on civil.Date) (units.Celsius, Source) {
	if t.told.OK {
		return t.told.V, Planned
	}
	if t.follows {
		if sp := t.season.SetpointOn(on); sp.OK && plausible(sp.V) {
			return sp.V, Planned
		}
	}
	return t.recent, RecentMean
}

// driftSD returns how much the tank's middle temperature wanders per square root
// of a day: nothing for a tank that follows its setpoint; else from how far the
// means of weeks that follow each other differ, beyond what single days explain.
func (t *temperatures) driftSD(set Settings) float64 {
	if t.follows || t.told.OK {
		return 0
	}
	const week = 7
	var msq float64
	n := 0
	prev, have := 0.0, false
	for end := t.last + 1; end >= week; end -= week {
		m := 0.0
		for i := end - week; i < end; i++ {
			m += float64(t.day[i])
		}
		m /= week
		if have {
			msq += (m - prev) * (m - prev)
			n++
		}
		prev, have = m, true
	}
	own := math.Max(0, msq-float64(n)*set.weekNoise()) / week
	return math.Sqrt((own + driftWeeks*set.DriftSD*set.DriftSD) / (float64(n) + driftWeeks))
}

// gapVar returns the variance of the mean temperature over a gap of n days, C
// squared: days wander, less so near a measured day, and the middle drifts between
// the two ends.
func (t *temperatures) gapVar(n int, set Settings) float64 {
	return set.meanVar(float64(n))*(1-math.Pow(set.DayRho, float64(n+1))) + t.drift*t.drift*float64(n)/12
}

// trendDays is for how long a recent trend may well go on, in days; local choices.
// Water that nobody cools follows the season. Where there is a chiller, a drift of
// 0.2 C a day is flagged after 9 days (science notes, S6) and mended: a trend over
// two weeks that is still there has not much longer to go.
func (t *temperatures) trendDays() float64 {
	if t.season.Tank.HasChiller {
		return 7
	}
	return 30
}

// trendNow returns how fast the tank has warmed or cooled over the last two
// weeks, C per day: the slope between the medians of the last week and the one
// before, nothing for a tank that follows its setpoint.
func (t *temperatures) trendNow() float64 {
	const week = 7
	n := t.last + 1
	if t.follows || t.told.OK || n < 2*week {
		return 0
	}
	var a, b [week]float64
	for i := range week {
		a[i], b[i] = float64(t.day[n-1-i]), float64(t.day[n-1-week-i])
	}
	return (median(a[:]) - median(b[:])) / week
}
