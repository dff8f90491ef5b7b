package forecast

import (
	"math"

	"reddside/internal/biology"
	"reddside/internal/stats"
)

// doubts works out windows. All standard deviations are in units of the sum that
// the event is reached on.
type doubts struct {
	dev   biology.Development
	line  *line
	start start
	temps temperatures
	set   Settings
	lot   LotFactor
	// checked are the days with a check, in order.
	checked []int
	hatch   spread  // of the sum to half hatched, given what was seen; for swim-up
	hatchSD float64 // its log standard deviation before anything was seen
}

// part is the variance of one source of doubt.
type part struct {
	kind     PartKind
	variance float64
}

// spread is the distribution of the sum at which an event happens: log-normal
// about middle, with its own width below and above, cut to [low, high].
type spread struct {
	middle       float64
	below, above float64 // log standard deviations
	low, high    float64
}

// quantile returns the value with a share p below it.
func (s spread) quantile(p float64) float64 {
	lo, hi := s.z(s.low), s.z(s.high)
	if hi-lo < 1e-6 {
		return s.value(lo)
	}
	var z float64
	if lo > 0 {
		q := (1-p)*upper(lo) + p*upper(hi)
		if q < 1e-300 {
			return s.value(lo)
		}
		z = -stats.NormalQuantile(q)
	} else {
		q := (1-p)*upper(-lo) + p*upper(-hi)
		if q < 1e-300 {
			return s.value(hi)
		}
		z = stats.NormalQuantile(q)
	}
	return s.value(math.Min(math.Max(z, lo), hi))
}

func (s spread) z(x float64) float64 {
	if x <= 0 || math.IsInf(x, -1) {
		return math.Inf(-1)
	}
	v := math.Log(x / s.middle)
	if v < 0 {
		return v / s.below
	}
	return v / s.above
}

func (s spread) value(z float64) float64 {
	if z < 0 {
		return s.middle * math.Exp(z*s.below)
	}
	return s.middle * math.Exp(z*s.above)
}

// upper is the upper tail of the standard normal.
func upper(z float64) float64 { return 0.5 * math.Erfc(z/math.Sqrt2) }

// water returns the doubts that come from temperature between two moments: the
// thermometer's constant bias, days without a reading, and days ahead. For
// swim-up they act on the sum to swim-up.
func (d *doubts) water(from, to float64, e Event) []part {
	l := d.line
	a, b, n := l.at(from), l.at(to), l.at(math.Min(to, float64(l.k)+0.5))
	slope, now, miss := b.s2-a.s2, n.s2-a.s2, math.Max(0, n.miss2-a.miss2)
	if e == SwimUp {
		slope, now, miss = b.s3-a.s3, n.s3-a.s3, math.Max(0, n.miss3-a.miss3)
	}
	bias := slope * d.set.ThermometerBiasSD
	out := []part{{PartThermometer, bias * bias}, {PartMissing, miss}}
	if h := to - math.Max(from, float64(l.k)+0.5); h > 0 && slope > now {
		s := slope - now // slope summed over the days ahead
		drift := d.temps.drift*d.temps.drift*(h/3+recentDays/2.0) +
			square(d.temps.trend*trendMean(h, d.temps.trendDays()))
		v := d.set.meanVar(h) + drift
		if !d.temps.told.OK && !d.temps.follows {
			v += d.set.meanVar(recentDays) // the middle itself is only estimated
		}
		out = append(out, part{PartFuture, s * s * v})
	}
	return out
}

// own returns the sources of doubt of the sum at which this tank's eggs reach
// eyed or hatch, given the lot factor.
func (d *doubts) own(e Event, middle, t float64) []part {
	scale := middle * middle
	lot, begin := d.lot.split(d.dev.LotSD, d.start.indexSD)
	out := []part{{PartLot, scale * lot}, {PartStart, scale * begin},
		{PartModel, scale * d.dev.ModelSD * d.dev.ModelSD}}
	if e == Eyed {
		out[2].variance += scale * d.dev.EyedSD * d.dev.EyedSD
	}
	return append(out, d.water(0, t, Hatch)...)
}

func total(parts []part) (v float64) {
	for _, p := range parts {
		v += p.variance
	}
	return v
}

// shares turns variances of a sum into days at the event's rate.
func shares(parts []part, rate float64) []Part {
	sum := total(parts)
	if sum <= 0 || rate <= 0 {
		return nil
	}
	out := make([]Part, 0, len(parts))
	for _, p := range parts {
		if p.variance > 0 {
			out = append(out, Part{Kind: p.kind, Days: math.Sqrt(p.variance) / rate, Share: p.variance / sum})
		}
	}
	return out
}

// trendMean is how many days' worth of trend the mean of the next h days may be
// off by: the trend goes on for some days and then stops.
func trendMean(h, days float64) float64 {
	if h <= days {
		return h/2 + recentDays/2.0
	}
	return days*(1-days/(2*h)) + recentDays/2.0
}
