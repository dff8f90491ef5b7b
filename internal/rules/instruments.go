package rules

import (
	"math"
	"sort"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/stats"
	"reddside/internal/units"
)

func instrumentsApart() Rule {
	return newRule("instruments_apart", Temperature, logbook.Keeper, thisWeek, 14,
		[]string{"same_place", "second_thermometer", "ice_water", "log_which"}, InstrumentGap)
}

// Pairs of a check and the logger that are compared: the newest few of the last
// two weeks. Local choices.
const (
	pairDays  = 14
	pairsMin  = 3
	pairsUsed = 5
)

// instruments compares the thermometer of the checks with the logger: the median
// of the newest differences, so that one misread number does not count.
func (a *assessor) instruments() {
	if a.spoken("thermometer") {
		return
	}
	var apart []float64
	var first civil.Date
	for i := len(a.points) - 1; i >= 0 && len(apart) < pairsUsed; i-- {
		pt := &a.points[i]
		if a.today.Sub(pt.on) >= pairDays {
			break
		}
		if pt.check < 0 {
			continue
		}
		if d, ok := a.loggerApart(pt); ok {
			apart, first = append(apart, d), pt.on
		}
	}
	if len(apart) < pairsMin {
		return
	}
	gap := stats.Median(apart)
	if math.Abs(gap) <= a.p.any(InstrumentGap)+tie {
		return
	}
	variant := "warmer"
	if gap < 0 {
		variant = "colder"
	}
	r := instrumentsApart()
	a.raise(r, Flag{Kind: Watch, Subject: "thermometer", Since: first, Headline: headline(r.ID, variant, logbook.Args{
		"Gap": units.CelsiusDelta(math.Abs(gap)), "Count": len(apart),
	})})
}

func filesDisagree() Rule {
	return newRule("files_disagree", Temperature, logbook.Keeper, thisWeek, 14,
		[]string{"which_file", "take_file_back"})
}

// files speaks of the hours that do not count because two files of readings disagree.
func (a *assessor) files() {
	var first, last civil.Date
	days := 0
	for i := range a.s.Readings {
		r := &a.s.Readings[i]
		if r.Reason != logbook.ReasonDisputed || r.On == last {
			continue
		}
		if days++; days == 1 {
			first = r.On
		}
		last = r.On
	}
	if days == 0 || a.spoken("files") {
		return
	}
	r := filesDisagree()
	a.raise(r, Flag{Kind: Watch, Subject: "files", Since: first, Headline: headline(r.ID, "", logbook.Args{
		"Count": days, "First": first, "Last": last,
	})})
}

// loggerApart is how much more a check read than the logger: than its reading
// nearest in time within two hours when the check has a time, else than the
// nearer end of what it saw that day (nothing when the check lies inside).
func (a *assessor) loggerApart(pt *point) (float64, bool) {
	rows := a.s.Readings
	lo := sort.Search(len(rows), func(i int) bool { return !rows[i].On.Before(pt.on) })
	hi := lo + sort.Search(len(rows)-lo, func(i int) bool { return rows[lo+i].On.After(pt.on) })
	if lo >= hi {
		return 0, false
	}
	low, high, near, nearest := math.Inf(1), math.Inf(-1), 0.0, 2*time.Hour+time.Second
	at, timed := a.checkTime(pt.check)
	for i := lo; i < hi; i++ {
		r := &rows[i]
		if r.Quality == logbook.Suspect {
			continue
		}
		t := float64(r.Temperature)
		low, high = math.Min(low, t), math.Max(high, t)
		if off := at.Sub(r.At).Abs(); timed && !r.At.IsZero() && off < nearest {
			near, nearest = t, off
		}
	}
	switch {
	case math.IsInf(low, 1):
		return 0, false
	case nearest <= 2*time.Hour:
		return pt.t - near, true
	}
	return math.Max(0, pt.t-high) + math.Min(0, pt.t-low), true
}

// checkTime is when a check was made, when its time on the wall was noted.
func (a *assessor) checkTime(check int) (time.Time, bool) {
	c := &a.s.Checks[check]
	clock, err := time.Parse("15:04", c.Time)
	if err != nil {
		return time.Time{}, false
	}
	if a.zone == nil {
		a.zone = a.s.Site.Location()
	}
	return c.On.Start(a.zone).Add(time.Duration(clock.Hour())*time.Hour + time.Duration(clock.Minute())*time.Minute),
		true
}
