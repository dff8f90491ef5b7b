package report

import (
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// outageSpan is a time in which the log says that the chiller did not run.
type outageSpan struct {
	from, to time.Time
	longest  time.Duration // of the outage inside it
	power    bool
}

// WarmingStretch finds the longest warming stretch of a season's logger that
// lies inside an outage of its log: a power cut, or the days from a check that
// saw the chiller stopped to the next that saw it running. Other warming may
// have had the chiller running against it. A stretch that touches a day on
// which the setpoint was changed does not count. It is false when there is none.
func WarmingStretch(s *logbook.Season) (Stretch, bool) {
	loc := s.Site.Location()
	var best Stretch
	for _, o := range loggedOutages(s, loc) {
		var inside []logbook.Reading
		for _, r := range s.Readings {
			if !r.At.Before(o.from) && !r.At.After(o.to) {
				inside = append(inside, r)
			}
		}
		found, ok := longestRise(inside)
		if !ok || found.To.Sub(found.From) > o.longest || setpointMoved(s, loc, found) {
			continue
		}
		if found.Hours() > best.Hours() {
			best, best.PowerCut = found, o.power
		}
	}
	return best, len(best.Readings) > 0
}

// loggedOutages are the outages of a season's log. A power cut without a time of
// day lies somewhere in its day, but is no longer than its hours.
func loggedOutages(s *logbook.Season, loc *time.Location) []outageSpan {
	var out []outageSpan
	for i := range s.Events {
		e := &s.Events[i]
		if e.Kind != logbook.PowerCut || !e.Hours.OK {
			continue
		}
		o := outageSpan{longest: time.Duration(e.Hours.V * float64(time.Hour)), power: true}
		if at, ok := wallMoment(e.On, e.Time, loc); ok {
			o.from, o.to = at, at.Add(o.longest)
		} else {
			o.from, o.to = e.On.Start(loc), e.On.AddDays(1).Start(loc)
		}
		out = append(out, o)
	}
	stopped := civil.Date{}
	add := func(to time.Time) {
		from := stopped.Start(loc)
		out = append(out, outageSpan{from: from, to: to, longest: to.Sub(from)})
		stopped = civil.Date{}
	}
	for i := range s.Checks {
		c := &s.Checks[i]
		switch {
		case c.Chiller == logbook.Stopped && stopped.IsZero():
			stopped = c.On
		case c.Chiller == logbook.Running && !stopped.IsZero():
			to, ok := wallMoment(c.On, c.Time, loc)
			if !ok {
				to = c.On.Start(loc) // it may have run since midnight
				if c.On == stopped {
					to = c.On.AddDays(1).Start(loc)
				}
			}
			add(to)
		}
	}
	if n := len(s.Readings); !stopped.IsZero() && n > 0 {
		add(s.Readings[n-1].At)
	}
	return out
}

// setpointMoved reports whether the setpoint was changed on a day of a stretch.
func setpointMoved(s *logbook.Season, loc *time.Location, found Stretch) bool {
	for i := range s.Events {
		if e := &s.Events[i]; e.Kind == logbook.SetpointChange && !e.On.Before(civil.In(found.From, loc)) &&
			!e.On.After(civil.In(found.To, loc)) {
			return true
		}
	}
	return false
}

// wallMoment is a time of day on the wall of a site; false when there is none.
func wallMoment(d civil.Date, clock string, loc *time.Location) (time.Time, bool) {
	t, err := time.Parse("15:04", clock)
	if err != nil {
		return time.Time{}, false
	}
	y, m, n := d.YMD()
	return time.Date(y, m, n, t.Hour(), t.Minute(), 0, 0, loc), true
}
