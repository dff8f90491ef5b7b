package forecast

import (
	"math"
	"slices"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/stats"
)

// windows fills the three windows of a result.
func (d *doubts) windows(r *Result, seen []look) {
	r.Eyed = d.early(Eyed, seen)
	r.Hatch = d.early(Hatch, seen)
	r.SwimUp = d.swimUp(r, seen)
	inOrder(r)
	// Fry seen on the first days have hatched before the record.
	if w := &r.Hatch; w.Ok() && w.Observed.IsZero() && w.P10.Before(d.start.on) {
		if w.P50.Before(d.start.on) {
			*w = Window{Event: Hatch, BeforeStart: true}
		} else {
			w.P10 = d.start.on
		}
	}
}

// inOrder keeps the order of life. What was seen stays: it pulls the events before it
// and pushes those after it.
func inOrder(r *Result) {
	switch {
	case !r.SwimUp.Observed.IsZero():
		follow(&r.Hatch, &r.SwimUp, r.Hatch.Observed.IsZero())
		follow(&r.Eyed, &r.Hatch, r.Eyed.Observed.IsZero())
	case !r.Hatch.Observed.IsZero():
		follow(&r.Eyed, &r.Hatch, r.Eyed.Observed.IsZero())
		follow(&r.Hatch, &r.SwimUp, false)
	default:
		follow(&r.Eyed, &r.Hatch, false)
		follow(&r.Hatch, &r.SwimUp, false)
	}
}

// follow gives the later of two events later dates: it pulls the first, or else
// pushes the second unless that was seen.
func follow(a, b *Window, pull bool) {
	if !a.Ok() || !b.Ok() || (!pull && !b.Observed.IsZero()) {
		return
	}
	moved := false
	for _, p := range [][2]*civil.Date{{&a.P10, &b.P10}, {&a.P50, &b.P50}, {&a.P90, &b.P90}} {
		switch {
		case p[1].After(*p[0]):
			continue
		case pull:
			*p[0] = p[1].AddDays(-1)
		default:
			*p[1] = p[0].AddDays(1)
		}
		moved = true
	}
	w := b
	if pull {
		w = a
	}
	if moved {
		w.P50, w.First, w.Last = civil.Max(w.P10, w.P50), civil.Date{}, civil.Date{}
		w.P90 = civil.Max(w.P50, w.P90)
	}
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
	// The stage at delivery was seen; without one the figures must do.
	if o := d.start.stage.Order(); o >= stage.Order() || (o == 0 && l.st.index >= share) {
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
	s := spread{middle: middle, below: sd, above: sd, low: math.Inf(-1), high: math.Inf(1)}
	if e == Eyed {
		// Few look for eyes: without a look that says "not yet" the date may be past.
		s.low, _ = d.bounds(seen, Eyed)
	}
	if e == Hatch {
		s.low = d.notYet(seen, Hatch, toHatch, s.quantile(blankUntil))
		// A few hatched: the middle is at hand. Two days are left for the eye.
		if _, high := d.bounds(seen, Hatch); !math.IsInf(high, 1) {
			s.high = math.Max(high+2*d.set.LookSD, s.low*(1+d.set.LookSD))
		}
		if day := begun(seen, Hatch); day >= 0 {
			w.Begun = d.start.on.AddDays(day)
		}
		d.hatch, d.hatchSD = s, sd
	}
	d.dates(&w, s, toHatch)
	w.Parts = shares(parts, d.rate(t, toHatch))
	d.batch(&w)
	return w
}

// swimUp is the window of swim-up. A first feeding says that fry swim only when it
// was not too early for that.
func (d *doubts) swimUp(r *Result, seen []look) Window {
	w := Window{Event: SwimUp}
	if o := d.start.stage.Order(); o >= logbook.Fry.Order() || (o == 0 && d.line.st.swimUp >= 1) {
		w.BeforeStart = true
		return w
	}
	fed := -1
	looked := seen
	for i := range seen {
		if seen[i].fed {
			fed = seen[i].day
			looked = slices.DeleteFunc(slices.Clone(seen), func(v look) bool { return v.fed })
			break
		}
	}
	s, parts, t, ok := d.swimUpSpread(r, &w)
	earliest, middle := d.hungry(r, seen)
	r.FoodFrom = d.line.date(d.line.moment(earliest, toSwimUp))
	r.FoodLikely = d.line.date(d.line.moment(middle, toSwimUp))
	if fed >= 0 && d.line.at(float64(fed)+0.5).x3 >= earliest {
		looked = seen
	}
	if d.observed(&w, looked) {
		w.Anchored = false
		d.batch(&w)
		return w
	}
	if !ok {
		w.Never = true
		return w
	}
	// Only who names the stage has seen that the fry do not swim: hungry fry must not
	// wait for a word.
	s.low = d.notYet(looked, SwimUp, toSwimUp, -1)
	d.dates(&w, s, toSwimUp)
	w.Parts = shares(parts, d.rate(t, toSwimUp))
	d.batch(&w)
	return w
}

// hungry returns the sums from which food may be right and at which half should want
// it: the shortest and the middle alevin time after the hatch that was seen, or that
// the model and the observations of the lot expect. Checks that say nothing of hatching
// have no say here.
func (d *doubts) hungry(r *Result, seen []look) (earliest, middle float64) {
	l := d.line
	if r.Hatch.BeforeStart {
		return l.st.swimUp, 1
	}
	hatch := l.moment(math.Max(math.Exp(d.lot.Mean), d.notYet(seen, Hatch, toHatch, -1)), toHatch)
	if !r.Hatch.Observed.IsZero() {
		a, b := d.span(r.Hatch.Observed)
		hatch = (a + b) / 2
	}
	if math.IsInf(hatch, 1) {
		return hatch, hatch
	}
	x, alevin := l.at(hatch).x3, d.alevin()
	return x + d.dev.RatioLow*alevin, x + alevin
}

// alevin is the sum between half hatched and half swimming up, by the models alone.
func (d *doubts) alevin() float64 {
	l := d.line
	if l.st.index > 1 { // the eggs came late
		return 1 - l.st.swimUp/l.st.index
	}
	return 1 - l.at(math.Min(l.moment(1, toHatch), 1e6)).x3
}

// swimUpSpread is the distribution of the sum to swim-up: counted from an observed
// hatch when there is one, else from the hatch that is expected by what was seen.
// The alevin time keeps its own doubt. It is false when swim-up never comes.
func (d *doubts) swimUpSpread(r *Result, w *Window) (s spread, parts []part, t float64, ok bool) {
	l := d.line
	if l.moment(1, toHatch) > neverDays+float64(l.k) || r.Hatch.Never {
		return s, nil, 0, false
	}
	alevin := d.alevin()
	from, middle, left := 0.0, 1.0, 1.0
	var below, above float64 // variance that what was seen has taken away
	switch {
	case !r.Hatch.Observed.IsZero():
		w.Anchored = true
		a, b := d.span(r.Hatch.Observed)
		from = (a + b) / 2
		middle = l.at(from).x3 + alevin
		look := (l.at(b).x3 - l.at(a).x3) / math.Sqrt(12)
		parts = append(parts, part{PartModel, look*look + square(d.set.LookSD*l.at(from).x3)})
	case r.Hatch.BeforeStart:
		alevin = math.Max(1-l.st.swimUp, 0.02)
	default:
		f := d.hatch.quantile(0.5)
		th := l.moment(f, toHatch)
		if th > neverDays+float64(l.k) {
			return s, nil, 0, false
		}
		middle = l.at(th).x3 + alevin
		// What moves hatch moves swim-up as many days.
		c := square(d.rate(th, toSwimUp) / d.rate(th, toHatch) * f)
		lot, begin := d.lot.split(d.dev.LotSD, d.start.indexSD)
		parts = append(parts, part{PartLot, c * lot}, part{PartStart, c * begin},
			part{PartModel, c * square(d.dev.ModelSD)})
		whole := square(d.hatchSD)
		down, up := square(math.Log(f/d.hatch.quantile(0.1))/z80), square(math.Log(d.hatch.quantile(0.9)/f)/z80)
		below, above = c*math.Max(0, whole-down), c*math.Max(0, whole-up)
		left = math.Min(1, (down+up)/(2*whole))
	}
	r.SwimUpNeeded = middle
	t = l.moment(middle, toSwimUp)
	if t > neverDays+float64(l.k) {
		return s, nil, 0, false
	}
	water := d.water(from, t, SwimUp)
	v := total(parts) + total(water)
	low, high := d.dev.RatioSD()
	s = spread{middle: middle, below: math.Sqrt(math.Max(0, v-below)+square(low*alevin)) / middle,
		above: math.Sqrt(math.Max(0, v-above)+square(high*alevin)) / middle, low: math.Inf(-1), high: math.Inf(1)}
	for i := range parts {
		parts[i].variance *= left
	}
	parts = append(parts, water...)
	return s, append(parts, part{PartRatio, square((low + high) / 2 * alevin)}), t, true
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
