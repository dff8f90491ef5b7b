package entries

import (
	"context"
	"math"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/stats"
	"reddside/internal/store"
	"reddside/internal/units"
)

// What makes a person look twice at a file before it is stored; local choices. Two
// instruments of a school may each be half a degree off, and the water of a day
// moves.
const (
	farFromChecks = 1.5 // C, the middle difference of the days with a check
	nearerBy      = 0.5 // C, by which another tank must be nearer
	nearerDays    = 3   // days with a check in either tank
	warmAbove     = 30  // C, of no salmonid tank
)

// The fields of doubts about a file, which a person confirms by these names.
const (
	DoubtChecks = "far_from_checks"
	DoubtTank   = "nearer_to_other_tank"
	DoubtWarm   = "very_warm"
)

// DoubtNames are the names that confirm a doubt.
func DoubtNames() []string { return []string{DoubtChecks, DoubtTank, DoubtWarm} }

// ReadingDoubts compares a plan with the checks of its tank and of the other tanks of
// the school, and says what somebody has to confirm before it is stored.
func (s *Service) ReadingDoubts(ctx context.Context, season *logbook.Season, p ReadingsPlan) ([]logbook.Problem,
	error) {
	heads, err := s.db.SeasonHeads(ctx, store.SeasonFilter{SiteID: season.Site.ID})
	if err != nil {
		return nil, err
	}
	var ids []logbook.ID
	for _, h := range heads {
		if h.TankID != season.Tank.ID {
			ids = append(ids, h.ID)
		}
	}
	days := daysOf(p.Keep)
	var others []otherTank
	if err := s.db.LoadSeasons(ctx, ids, func(o *logbook.Season) error {
		if apart, n, _ := days.apart(o.Checks); n >= nearerDays {
			others = append(others, otherTank{o.Tank.Name, apart})
		}
		return nil
	}); err != nil {
		return nil, err
	}
	return doubts(season, days, p, others), nil
}

type otherTank struct {
	name  string
	apart float64
}

func doubts(season *logbook.Season, days fileDays, p ReadingsPlan, others []otherTank) []logbook.Problem {
	var out []logbook.Problem
	ask := func(field, key string, args logbook.Args) {
		out = append(out, logbook.Problem{Field: field, Key: key, Args: args, Soft: true})
	}
	own, n, typical := days.apart(season.Checks)
	if n > 0 && own > farFromChecks {
		low, high := days.span()
		ask(DoubtChecks, "import.doubt.checks", logbook.Args{"Low": low, "High": high, "Check": typical, "Count": n})
	}
	if n >= nearerDays {
		best := otherTank{apart: math.Inf(1)}
		for _, o := range others {
			if o.apart < best.apart {
				best = o
			}
		}
		if best.apart+nearerBy < own {
			ask(DoubtTank, "import.doubt.tank", logbook.Args{"Tank": best.name, "Own": season.Tank.Name,
				"Apart": units.CelsiusDelta(own), "There": units.CelsiusDelta(best.apart)})
		}
	}
	warm := 0
	for i := range p.Keep {
		if r := &p.Keep[i]; r.Quality == logbook.Good && r.Temperature > warmAbove {
			warm++
		}
	}
	if warm > 0 {
		ask(DoubtWarm, "import.doubt.warm", logbook.Args{"Count": warm, "Above": units.Celsius(warmAbove)})
	}
	return out
}

// fileDays are the lowest and highest good reading of each day of a file.
type fileDays map[civil.Date]dayRange

type dayRange struct{ low, high units.Celsius }

func daysOf(list []logbook.Reading) fileDays {
	out := fileDays{}
	for i := range list {
		r := &list[i]
		if r.Quality != logbook.Good {
			continue
		}
		d, ok := out[r.On]
		if !ok {
			d = dayRange{r.Temperature, r.Temperature}
		}
		out[r.On] = dayRange{min(d.low, r.Temperature), max(d.high, r.Temperature)}
	}
	return out
}

// span is the lowest and the highest of all days.
func (f fileDays) span() (low, high units.Celsius) {
	first := true
	for _, d := range f {
		if first {
			low, high, first = d.low, d.high, false
		}
		low, high = min(low, d.low), max(high, d.high)
	}
	return low, high
}

// apart is how far checks lie from the readings of their days: the middle of the
// distances to what the day saw, of how many checks, and the middle check.
func (f fileDays) apart(checks []logbook.Check) (c float64, n int, typical units.Celsius) {
	var far, seen []float64
	for i := range checks {
		t := checks[i].Temperature
		d, ok := f[checks[i].On]
		if !ok || !t.OK {
			continue
		}
		far = append(far, math.Max(0, float64(max(d.low-t.V, t.V-d.high))))
		seen = append(seen, float64(t.V))
	}
	if len(far) == 0 {
		return 0, 0, 0
	}
	return stats.Median(far), len(far), units.Celsius(stats.Median(seen))
}
