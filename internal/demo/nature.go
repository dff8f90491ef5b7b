package demo

import (
	"math"
	"math/rand/v2"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// seed makes the same programme each time.
const seed = 20260117

// longest is the longest season in days.
const longest = 200

// Water of a chilled classroom tank: standard deviation and day-to-day
// correlation about the setpoint. Assumptions, as in the simulation of the rules.
const (
	waterSD  = 0.22
	waterRho = 0.6
	settling = 0.45 // part of the way to a new setpoint in a day
)

// water makes the mean temperatures of a season's days, by days before its end.
func (s *script) water(stream uint64) []float64 {
	rng := rand.New(rand.NewPCG(seed, stream))
	out := make([]float64, longest)
	level, noise := s.set[0].to, 0.0
	for ago := longest - 1; ago >= 0; ago-- {
		noise = waterRho*noise + waterSD*math.Sqrt(1-waterRho*waterRho)*rng.NormFloat64()
		to := s.set[0].to
		for _, c := range s.set[1:] {
			if ago <= c.ago {
				to = c.to
			}
		}
		level += settling * (to - level)
		out[ago] = math.Max(level+noise, 0.5)
		if ago < s.drift.days {
			out[ago] += s.drift.perDay * float64(s.drift.days-ago)
		}
	}
	return out
}

// day is the true state of a tank in the morning of a day.
type day struct {
	ago     int
	on      civil.Date
	t       float64 // mean of the water, Celsius
	x       float64 // development index, half hatched at 1
	hatched float64 // share of the living
	stage   logbook.Stage
	died    int // since the morning before
	rng     *rand.Rand
}

// days walks from the delivery to the end of the season. Each day has its own
// stream of chance, so that the days on which people look change nothing else.
func days(l *lot, s *script, end civil.Date, water []float64, stream uint64) []day {
	n := end.Sub(l.delivered)
	out := make([]day, n+1)
	x, alive := l.start, float64(s.count)
	for i := range out {
		ago := n - i
		d := &out[i]
		*d = day{ago: ago, on: l.delivered.AddDays(i), t: water[ago], x: x / l.factor, stage: logbook.EyedEgg,
			rng: rand.New(rand.NewPCG(seed+1, stream<<32|uint64(ago)))}
		d.hatched = 0.5 * math.Erfc(-(d.x-1)/l.dev.BatchSD/math.Sqrt2)
		switch {
		case d.x < l.dev.EyedAt:
			d.stage = logbook.GreenEgg
		case d.x >= l.ratio:
			d.stage = logbook.Fry
		case d.hatched >= 0.5:
			d.stage = logbook.Alevin
		}
		if i > 0 {
			d.died = poisson(d.rng, alive*s.loss*deathRate(d, i, l.ratio))
			d.died += s.outbreak[ago]
			alive = math.Max(alive-float64(d.died), 0)
		}
		r, _ := l.dev.Hatch.Rate(units.Celsius(d.t))
		x += r
	}
	return out
}

// deathRate is the share of the living that dies in a day. Source: the base
// rates of the dead-count rule (a season loss of 7 % split over stages), an
// assumption.
func deathRate(d *day, sinceDelivery int, ratio float64) float64 {
	switch {
	case sinceDelivery <= 4:
		return 0.0035
	case d.hatched < 0.02:
		return 0.00056
	case d.hatched < 0.98:
		return 0.0035
	case d.x < ratio-0.1:
		return 0.0002333
	case d.x < ratio+0.2:
		return 0.00105
	}
	return 0.0002
}

// poisson draws a small count.
func poisson(rng *rand.Rand, mean float64) int {
	p, limit, n := rng.Float64(), math.Exp(-mean), 0
	for p > limit {
		p *= rng.Float64()
		n++
	}
	return n
}

func (d *day) chance(p float64) bool { return d.rng.Float64() < p }

// hatchedWord is what a class writes of the share hatched.
func (d *day) hatchedWord() logbook.Hatched {
	switch {
	case d.hatched < 0.02:
		return logbook.HatchedNone
	case d.hatched < 0.35:
		return logbook.HatchedFew
	case d.hatched < 0.65:
		return logbook.HatchedHalf
	case d.hatched < 0.97:
		return logbook.HatchedMost
	}
	return logbook.HatchedAll
}

// releaseWindow is when the permit of an open season allows release: about two
// to five weeks after swim-up at the temperature of now.
func releaseWindow(l *lot, last *day) (from, to civil.Date) {
	r, _ := l.dev.Hatch.Rate(units.Celsius(last.t))
	ahead := math.Max(0, (l.ratio-last.x)*l.factor/r)
	from = last.on.AddDays(int(ahead) + 14)
	return from, from.AddDays(21)
}
