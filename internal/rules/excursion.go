package rules

import (
	"math"
	"time"

	"reddside/internal/civil"
	"reddside/internal/forecast"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// Excursion is a stretch of logger readings outside the range of the stage.
type Excursion struct {
	From, To    time.Time // first and last reading outside
	Days        [2]civil.Date
	High        bool // too warm; else too cold
	Limit       units.Celsius
	Extreme     units.Celsius // the reading furthest outside
	Hours       float64
	DegreeHours float64 // sum of degrees beyond the limit times hours, K h
}

// Longest time that one reading stands for, in hours: half of it before and
// after. A longer gap is not guessed over. A daily mean stands for its day.
const (
	readingHours = 3.0
	dailyHours   = 24.0
)

// Excursions lists when the logger was outside the watch limits of the stage
// believed in on that day, up to a day, oldest first. Suspect readings are left
// out. Each reading stands for half the time to its neighbours (the trapezoid
// rule, common practice).
func Excursions(s *logbook.Season, upTo civil.Date, f *forecast.Result, p *Profile) []Excursion {
	a := newAssessor(Input{Season: s, Today: upTo, Forecast: f, Profile: p})
	stages := stageCursor{a: a}
	var good []*logbook.Reading
	for i := range a.s.Readings {
		if r := &a.s.Readings[i]; r.Quality != logbook.Suspect {
			good = append(good, r)
		}
	}
	var out []Excursion
	before := 0 // side of the reading before: -1, 0, 1
	for i, r := range good {
		stage := stages.on(r.On)
		t := float64(r.Temperature)
		side, limit := 0, 0.0
		if high := a.limit(TempWatchHigh, stage); t > high+tie {
			side, limit = 1, high
		} else if low := a.limit(TempWatchLow, stage); t < low-tie {
			side, limit = -1, low
		}
		if side == 0 || side != before || units.Celsius(limit) != out[len(out)-1].Limit || i > 0 &&
			gapHours(good[i-1], r) > dailyHours {
			if side != 0 {
				out = append(out, Excursion{From: r.At, Days: [2]civil.Date{r.On}, High: side > 0,
					Limit: units.Celsius(limit), Extreme: r.Temperature})
			}
		}
		before = side
		if side == 0 {
			continue
		}
		e := &out[len(out)-1]
		hours := standsFor(good, i)
		e.To, e.Days[1] = r.At, r.On
		e.Hours += hours
		e.DegreeHours += hours * math.Abs(t-limit)
		if float64(side)*(t-float64(e.Extreme)) > 0 {
			e.Extreme = r.Temperature
		}
	}
	return out
}

// gapHours is the time between two readings; a daily mean has none, so days
// count.
func gapHours(x, y *logbook.Reading) float64 {
	if x.At.IsZero() || y.At.IsZero() {
		return dailyHours * float64(y.On.Sub(x.On))
	}
	return y.At.Sub(x.At).Hours()
}

func standsFor(rows []*logbook.Reading, i int) float64 {
	if rows[i].At.IsZero() {
		return dailyHours
	}
	hours := 0.0
	if i > 0 {
		hours += math.Min(gapHours(rows[i-1], rows[i]), readingHours) / 2
	}
	if i+1 < len(rows) {
		hours += math.Min(gapHours(rows[i], rows[i+1]), readingHours) / 2
	}
	return hours
}
