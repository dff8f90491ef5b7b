package chart

import (
	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// Day is one day of logger readings: the time-weighted mean, the lowest and the
// highest of the good ones, and what was suspect. A season of thousands of
// readings is drawn from its days.
type Day struct {
	On             civil.Date
	Mean, Min, Max units.Celsius
	Good           int // number of good readings; without any the three are 0
	Suspects       int
	Suspect        units.Celsius // the suspect reading farthest from 0
}

// Daily sums up readings by the day at the site, oldest first; days without a
// reading are left out. Each good reading counts for half of the time to its
// neighbours of the same day, the first and the last for the same on both sides.
func Daily(readings []logbook.Reading) []Day {
	var out []Day
	for i := 0; i < len(readings); {
		j := i
		for j < len(readings) && readings[j].On == readings[i].On {
			j++
		}
		out = append(out, sumDay(readings[i:j]))
		i = j
	}
	return out
}

func sumDay(rs []logbook.Reading) Day {
	d := Day{On: rs[0].On}
	var good []logbook.Reading
	for _, r := range rs {
		if r.Quality == logbook.Good {
			good = append(good, r)
			continue
		}
		d.Suspects++
		if d.Suspects == 1 || abs(r.Temperature) > abs(d.Suspect) {
			d.Suspect = r.Temperature
		}
	}
	d.Good = len(good)
	if d.Good == 0 {
		return d
	}
	d.Min, d.Max = good[0].Temperature, good[0].Temperature
	var sum, weight, plain float64
	for i, r := range good {
		d.Min, d.Max = min(d.Min, r.Temperature), max(d.Max, r.Temperature)
		before, after := 0.0, 0.0
		if i > 0 {
			before = r.At.Sub(good[i-1].At).Hours()
		}
		if i < len(good)-1 {
			after = good[i+1].At.Sub(r.At).Hours()
		}
		if i == 0 {
			before = after
		}
		if i == len(good)-1 {
			after = before
		}
		w := before + after
		sum += w * float64(r.Temperature)
		weight += w
		plain += float64(r.Temperature)
	}
	d.Mean = units.Celsius(plain / float64(d.Good))
	if weight > 0 && !good[0].At.IsZero() { // a daily mean from a file has no time
		d.Mean = units.Celsius(sum / weight)
	}
	return d
}

func abs(v units.Celsius) units.Celsius { return max(v, -v) }
