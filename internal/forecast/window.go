package forecast

import (
	"math"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/stats"
)

// windows fills the three windows of a result.
func (d *doubts) windows(r *Result, seen []look) {
	r.Eyed = d.early(Eyed, seen)
	r.Hatch = d.early(Hatch, seen)
	r.SwimUp = d.swimUp(r, seen)
}

// early is the window of the events up to hatch, which share the sum to half
// hatched and the lot factor.
func (d *doubts) early(e Event, seen []look) Window {
	w := Window{Event: e}
	l := d.line
	share, stage := 1.0, logbook.Alevin
	if e == Eyed {
		share, stage = d.dev.EyedAt, logbook.EyedEgg
	}
	if d.start.stage.Order() >= stage.Order() || l.st.index >= share {
		w.BeforeStart = true
		return w
	}
	if d.observed(&w, seen) {
		d.batch(&w)
		return w
	}
	middle := share * math.Exp(d.lot.Mean)
	t := l.moment(middle, toHatch)
	if t > neverDays+float64(l.k) {
		w.Never = true
		return w
	}
	parts := d.own(e, middle, t)
	sd := math.Sqrt(total(parts)) / middle
	s := spread{middle: middle, below: sd, above: sd, low: l.at(l.now()).x2, high: math.Inf(1)}
	if e == Eyed {
		// Few look for eyes: without a look that says "not yet" the date may be past.
		s.low, _ = d.bounds(seen, Eyed)
	}
	if e == Hatch {
		// A few hatched: the middle is at hand. Two days are left for the eye.
		if _, high := d.bounds(seen, Hatch); !math.IsInf(high, 1) {
			s.high = math.Max(high+2*d.set.LookSD, s.low*(1+d.set.LookSD))
		}
	}
	d.dates(&w, s, toHatch)
	w.Parts = shares(parts, d.rate(t, toHatch))
	d.batch(&w)
	return w
}

// swimUp counts from an observed hatch when there is one, else from
// fertilisation. The alevin time keeps its own doubt.
func (d *doubts) swimUp(r *Result, seen []look) Window {
	w := Window{Event: SwimUp}
	l := d.line
	if d.start.stage.Order() >= logbook.Fry.Order() || l.st.swimUp >= 1 {
		w.BeforeStart = true
		return w
	}
	if d.observed(&w, seen) {
		return w
	}
	at1 := l.moment(1, toHatch) // hatch by the model alone
	if at1 > neverDays+float64(l.k) {
		w.Never = true
		return w
	}
	alevin := math.Max(1-l.at(at1).x3, 0.02)
	var parts []part
	from, middle := 0.0, 1.0
	switch {
	case !r.Hatch.Observed.IsZero():
		w.Anchored = true
		a, b := d.span(r.Hatch.Observed)
		from = (a + b) / 2
		middle = l.at(from).x3 + alevin
		look := (l.at(b).x3 - l.at(a).x3) / math.Sqrt(12)
		parts = append(parts, part{PartModel, look*look + square(d.set.LookSD*l.at(from).x3)})
	case l.st.index >= 1:
		alevin = 1 - l.st.swimUp
	default:
		f := math.Exp(d.lot.Mean)
		th := l.moment(f, toHatch)
		if th > neverDays+float64(l.k) {
			w.Never = true
			return w
		}
		middle = l.at(th).x3 + alevin
		// What moves hatch moves swim-up as many days.
		c := d.rate(th, toSwimUp) / d.rate(th, toHatch)
		lot, begin := d.lot.split(d.dev.LotSD, d.start.indexSD)
		parts = append(parts, part{PartLot, square(c*f) * lot}, part{PartStart, square(c*f) * begin},
			part{PartModel, square(c * f * d.dev.ModelSD)})
	}
	r.SwimUpNeeded = middle
	t := l.moment(middle, toSwimUp)
	if t > neverDays+float64(l.k) {
		w.Never = true
		return w
	}
	parts = append(parts, d.water(from, t, SwimUp)...)
	below, above := d.dev.RatioSD()
	v := total(parts)
	s := spread{middle: middle, below: math.Sqrt(v+square(below*alevin)) / middle,
		above: math.Sqrt(v+square(above*alevin)) / middle, low: l.at(l.now()).x3, high: math.Inf(1)}
	d.dates(&w, s, toSwimUp)
	parts = append(parts, part{PartRatio, square((below + above) / 2 * alevin)})
	w.Parts = shares(parts, d.rate(t, toSwimUp))
	d.batch(&w)
	return w
}

func square(x float64) float64 { return x * x }

// rate is the progress per day at a moment.
func (d *doubts) rate(t float64, of func(*step) float64) float64 {
	a, b := d.line.at(t), d.line.at(t+0.01)
	return (of(&b) - of(&a)) / 0.01
}

// dates fills the three dates of a window. A range of dates holds its first and
// its last day whole, so P10 is rounded up and P90 down: then the range holds 80 %
// on average, and not 80 % and a day.
func (d *doubts) dates(w *Window, s spread, of func(*step) float64) {
	when := func(p float64) float64 { return d.line.moment(s.quantile(p), of) }
	t50 := when(0.5)
	w.P50 = d.line.date(t50)
	w.P10 = d.line.date(math.Min(when(0.1)+0.5, t50))
	w.P90 = d.line.date(math.Max(when(0.9)-0.5, t50))
	if w.P90.IsZero() || w.P50.IsZero() || w.P10.IsZero() {
		*w = Window{Event: w.Event, Never: true, Anchored: w.Anchored}
	}
}

// observed fills the window from what was seen in this tank, if it was.
func (d *doubts) observed(w *Window, seen []look) bool {
	before, first, _ := half(seen, w.Event)
	if first < 0 {
		return false
	}
	on := d.start.on
	w.Observed.OnOrBefore = on.AddDays(first)
	if before < 0 && w.Event != Eyed {
		before = 0 // the eggs were delivered unhatched
	}
	from := 0
	if before >= 0 {
		w.Observed.After = on.AddDays(before)
		from = before
	}
	w.P10 = civil.Min(on.AddDays(from+1), w.Observed.OnOrBefore)
	w.P90 = w.Observed.OnOrBefore
	w.P50 = w.P10.AddDays((w.P90.Sub(w.P10) + 1) / 2)
	return true
}

// span returns the moments between which something was observed: the middles of
// the two days.
func (d *doubts) span(i Interval) (a, b float64) {
	b = float64(i.OnOrBefore.Sub(d.start.on)) + 0.5
	a = 0.5
	if !i.After.IsZero() {
		a = math.Min(float64(i.After.Sub(d.start.on))+0.5, b)
	}
	return math.Min(a, b), b
}

// ownScale is hatch days over swim-up days for a swim-up model of its own, only
// for the scatter within a batch: near 0.6 for every species of the table.
const ownScale = 0.6

// batch adds about when the first and the last of the batch follow.
func (d *doubts) batch(w *Window) {
	if !w.Ok() || w.Event == Eyed {
		return
	}
	of, scale := toHatch, 1.0
	if w.Event == SwimUp {
		of, scale = toSwimUp, ownScale
		if d.line.ratio > 0 {
			scale = 1 / d.line.ratio
		}
	}
	mid := d.line.at(float64(w.P50.Sub(d.start.on)))
	x := of(&mid)
	half := d.dev.BatchSD * stats.NormalQuantile(0.95) * scale
	w.First = d.line.date(d.line.moment(x-half, of))
	w.Last = d.line.date(d.line.moment(x+half, of))
	if w.Last.IsZero() {
		w.First = civil.Date{}
	}
}
