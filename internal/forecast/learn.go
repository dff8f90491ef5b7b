package forecast

import (
	"math"

	"reddside/internal/logbook"
)

// Observation is what one tank says about its lot: the logarithm of the factor by
// which the lot is later (above 0) or earlier than the model lies between Low
// and High, give or take Tau.
type Observation struct {
	Season    logbook.ID
	Site      logbook.ID
	Tank      string
	Event     Event
	When      Interval
	Low, High float64 // -Inf and +Inf where nothing bounds it
	Tau       float64 // log sd of what is not shared with other tanks
	Confirmed bool    // a person confirmed a surprising look
}

// otherTank stands for the name of a tank of another school, which is not told.
type otherTank struct{}

// MessageKey returns the catalogue key of "a tank of another school".
func (otherTank) MessageKey() string { return "forecast.other_tank" }

// tankFor is the tank's name in a text for readers of a site.
func (o *Observation) tankFor(site logbook.ID) any {
	if o.Site != site {
		return otherTank{}
	}
	return o.Tank
}

// PastLot is what a closed season has shown about its lot.
type PastLot struct {
	Label    string
	Mean, SD float64 // log factor
}

// LotFactor is what is known of a lot: the log factor on the days to hatch.
// exp(Mean) above 1 means later than the model.
type LotFactor struct {
	Mean, SD           float64
	PriorMean, PriorSD float64
	Past               int           // closed lots that shaped the prior
	From               []Observation // what it was learnt from
}

// Factor returns the middle of the factor on the days to hatch.
func (f LotFactor) Factor() float64 { return math.Exp(f.Mean) }

// split divides the variance between the lot and the hatchery's figures, which
// all tanks of a lot share.
func (f LotFactor) split(lotSD, startSD float64) (lot, begin float64) {
	v := f.SD * f.SD
	a, b := lotSD*lotSD, startSD*startSD
	if a+b == 0 {
		return v, 0
	}
	return v * a / (a + b), v * b / (a + b)
}

// observations says what this tank has shown, for the other tanks of its lot.
func (d *doubts) observations(s *logbook.Season, seen []look) []Observation {
	var out []Observation
	for _, e := range []Event{Eyed, Hatch} {
		share := 1.0
		if e == Eyed {
			share = d.dev.EyedAt
		}
		low, high := d.bounds(seen, e)
		if (math.IsInf(low, -1) && math.IsInf(high, 1)) || d.line.st.index >= share {
			continue
		}
		o := Observation{Season: s.ID, Site: s.Site.ID, Tank: s.Tank.Name, Event: e, Low: logOf(low / share),
			High: logOf(high / share)}
		before, first, confirmed := half(seen, e)
		o.Confirmed = confirmed
		if before >= 0 {
			o.When.After = d.start.on.AddDays(before)
		}
		t := float64(d.line.k)
		if first >= 0 {
			o.When.OnOrBefore = d.start.on.AddDays(first)
			t = float64(first) + 0.5
		} else if before >= 0 {
			t = float64(before) + 0.5
		}
		x := math.Max(d.line.at(t).x2, 0.05)
		v := square(d.dev.ModelSD) + square(d.set.LookSD/share) + total(d.water(0, t, Hatch))/square(x)
		if e == Eyed {
			v += square(d.dev.EyedSD)
		}
		o.Tau = math.Sqrt(v)
		out = append(out, o)
	}
	return out
}

func logOf(x float64) float64 {
	if x <= 0 {
		return math.Inf(-1)
	}
	return math.Log(x)
}

// learn gives the lot factor: the prior of the literature's scatter and of closed
// seasons, updated by what was seen in any tank of the lot.
func (d *doubts) learn(in Input, own logbook.ID, r *Result) LotFactor {
	f := prior(d.dev.LotSD, in.PastLots)
	f.PriorSD = math.Hypot(f.PriorSD, d.start.indexSD)
	f.Mean, f.SD = f.PriorMean, f.PriorSD
	use := func(o Observation) {
		if math.IsNaN(o.Low) || math.IsNaN(o.High) || !(o.Tau > 0) || o.Low > o.High {
			return
		}
		if o.off(f.PriorMean, f.PriorSD) > d.set.ContradictionZ && !o.Confirmed {
			on := o.When.OnOrBefore
			if on.IsZero() {
				on = o.When.After
			}
			r.Questions = append(r.Questions, Question{On: on, Key: "forecast.question.contradiction." +
				string(o.Event),
				Args: logbook.Args{"On": on, "Tank": o.tankFor(in.Season.Site.ID)}})
			return
		}
		if math.IsInf(o.High, 1) && f.PriorMean-o.Low > tellsNothing*math.Hypot(f.PriorSD, o.Tau) {
			return // "not yet" long before anything is due
		}
		f.From = append(f.From, o)
	}
	for _, o := range r.Observations {
		if !math.IsInf(o.High, 1) && !o.When.OnOrBefore.IsZero() { // own "not yet" cuts the window itself
			use(o)
		} else if math.IsInf(o.High, 1) && o.off(f.PriorMean, f.PriorSD) > d.set.ContradictionZ && !o.Confirmed {
			r.Questions = append(r.Questions, Question{On: o.When.After, Key: "forecast.question.overdue." +
				string(o.Event),
				Args: logbook.Args{"On": o.When.After}})
		}
	}
	for _, o := range in.Siblings {
		if o.Season != own || own == "" {
			use(o)
		}
	}
	if len(f.From) > 0 {
		f.Mean, f.SD = posterior(f.PriorMean, f.PriorSD, f.From)
	}
	return f
}

// tellsNothing is how many standard deviations before its time a "not yet" is too
// early to say anything: its chance is then one to 1 in 30,000.
const tellsNothing = 4

// off is how many standard deviations the nearest value that an observation
// allows is from the prior's middle.
func (o Observation) off(mean, sd float64) float64 {
	return math.Max(0, math.Max(o.Low-mean, mean-o.High)) / math.Hypot(sd, o.Tau)
}

// The posterior is summed over a coarse grid, which finds where it lies, and then
// over a fine one there; both in prior standard deviations about the prior.
const (
	gridSpan   = 6.0
	coarseGrid = 61
	fineGrid   = 101
)

// posterior returns mean and standard deviation of the log factor given a normal
// prior and interval-censored observations, each with its own normal noise. Where
// the observations leave nothing, the prior stands.
func posterior(mean, sd float64, obs []Observation) (float64, float64) {
	if !(sd > 0) {
		return mean, sd
	}
	m, s, ok := gridMoments(mean, sd, obs, 0, gridSpan, coarseGrid)
	if ok {
		const step = 2 * gridSpan / (coarseGrid - 1)
		m, s, ok = gridMoments(mean, sd, obs, m, gridSpan*math.Max(s, step/2), fineGrid)
	}
	if !ok {
		return mean, sd
	}
	return mean + sd*m, sd * s
}

// gridMoments returns mean and sd of the posterior, in prior standard deviations,
// over points within span of a centre.
func gridMoments(mean, sd float64, obs []Observation, centre, span float64, points int) (m, s float64, ok bool) {
	var w, wu, wuu, top float64
	for i := range points {
		z := centre + span*(2*float64(i)/float64(points-1)-1)
		p := math.Exp(-z * z / 2)
		u := mean + sd*z
		for j := range obs {
			if p *= obs[j].likelihood(u); p < top*1e-12 {
				break
			}
		}
		top = math.Max(top, p)
		w += p
		wu += p * z
		wuu += p * z * z
	}
	if !(w > 1e-280) {
		return 0, 0, false
	}
	m = wu / w
	return m, math.Sqrt(math.Max(wuu/w-m*m, 1e-8)), true
}

// likelihood is the chance of what was seen if the lot's log factor is u.
func (o *Observation) likelihood(u float64) float64 {
	a, b := (o.Low-u)/o.Tau, (o.High-u)/o.Tau
	if a > 0 {
		return upper(a) - upper(b)
	}
	return upper(-b) - upper(-a)
}

// pastWeight is how many lots the literature's scatter counts for when closed
// lots say how much lots differ; local choice.
const pastWeight = 4

// prior is the log factor of a lot of which nothing was seen yet. Half of the
// literature's variance is taken to belong to the supplier and half to the single
// lot (assumption), so that closed lots of the supplier both move and narrow, or
// when they differ among themselves widen, the prior of the next.
func prior(lotSD float64, past []PastLot) LotFactor {
	f := LotFactor{PriorSD: lotSD}
	supplier, lot := lotSD*lotSD/2, lotSD*lotSD/2
	var w, wm float64
	for _, p := range past {
		if !(p.SD > 0) || math.IsInf(p.SD, 0) || math.IsNaN(p.Mean) || math.IsInf(p.Mean, 0) {
			continue
		}
		q := 1 / (lot + p.SD*p.SD)
		w, wm = w+q, wm+q*p.Mean
		f.Past++
	}
	if f.Past == 0 {
		return f
	}
	centre := wm / w
	f.PriorMean = wm / (w + 1/supplier)
	var ss, noise float64
	for _, p := range past {
		if p.SD > 0 && !math.IsInf(p.SD, 0) && !math.IsNaN(p.Mean) && !math.IsInf(p.Mean, 0) {
			ss += square(p.Mean - centre)
			noise += square(p.SD)
		}
	}
	n := float64(f.Past)
	between := math.Max(0, ss-noise*(n-1)/n)
	lot = (pastWeight*lot + between) / (pastWeight + n - 1)
	f.PriorSD = math.Sqrt(1/(w+1/supplier) + lot)
	return f
}

// pastPrior is the width of the prior with which a closed lot is summed up: so
// wide that its observations alone count.
const pastPrior = 0.3

// PastLotOf sums up what the tanks of a closed lot have shown, from their
// Result.Observations, and is false when none saw its hatch between two looks.
func PastLotOf(label string, obs []Observation) (PastLot, bool) {
	var use []Observation
	for _, o := range obs {
		if o.Event == Hatch && !math.IsInf(o.Low, 0) && !math.IsInf(o.High, 0) && o.Tau > 0 && o.Low <= o.High {
			use = append(use, o)
		}
	}
	if len(use) == 0 {
		return PastLot{}, false
	}
	mean, sd := posterior(0, pastPrior, use)
	return PastLot{Label: label, Mean: mean, SD: sd}, true
}
