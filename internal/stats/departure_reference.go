package stats

import (
	"math"
)

// teacher learns offset and spread of one instrument.
type teacher struct {
	n, sum, squares float64 // of what was taught
	first           []float64
	fits            [len(lookSteps)]int
	seen            int
}

// The steps a thermometer may have, coarsest first, and how far from a step a reading
// may lie: stored values may have been rounded to 0.01 C.
var lookSteps = [...]struct{ step, perDegree, offset, near float64 }{
	{1, 1, 0, 0.012}, {1 / 1.8, 1.8, 32, 0.012 * 1.8}, {0.5, 2, 0, 0.024}, {0.2, 5, 0, 0.06},
}

// step is the coarsest step that fits the readings so far; 0 when none does.
func (t *teacher) step() float64 {
	for i, s := range lookSteps {
		if float64(t.fits[i]) >= stepFits*float64(t.seen) {
			return s.step
		}
	}
	return 0
}

func (t *teacher) see(c float64) {
	t.seen++
	for i, s := range lookSteps {
		k := c*s.perDegree + s.offset
		if math.Abs(k-math.Floor(k+0.5)) <= s.near {
			t.fits[i]++
		}
	}
}

func (r *DepartureRun) teacher(logger bool) *teacher {
	if logger {
		return &r.teachers[1]
	}
	return &r.teachers[0]
}

// teach learns from the looks that are old enough.
func (r *DepartureRun) teach(day float64) {
	for ; r.taught < len(r.looks) && r.looks[r.taught].Day <= day-r.cfg.GuardDays; r.taught++ {
		j := &r.looks[r.taught]
		if !j.known {
			continue
		}
		t := r.teacher(j.Logger)
		e := math.Max(-r.cfg.Cap, math.Min(r.cfg.Cap, j.z)) * j.spread
		base := j.Want
		if math.IsNaN(base) {
			base = 0
		}
		t.sum += j.ref - base + e
		t.squares += e * e
		t.n++
		if t.n > r.cfg.Memory {
			keep := r.cfg.Memory / t.n
			t.n, t.sum, t.squares = t.n*keep, t.sum*keep, t.squares*keep
		}
	}
}

// reference is what a look is compared with, and the spread about it.
func (r *DepartureRun) reference(t *teacher, l Look) (ref, spread float64, known bool) {
	base, prior := l.Want, 0.0
	if math.IsNaN(base) {
		if len(t.first) < usualMin {
			return 0, 1, false
		}
		base, prior = 0, Median(t.first)
	}
	ref = base + (priorShift*prior+t.sum)/(priorShift+t.n)
	variance := (r.cfg.SpreadWeight*r.cfg.Spread*r.cfg.Spread + t.squares) / (r.cfg.SpreadWeight + t.n)
	// Half of what rounding adds; the other half the readings show by themselves.
	step := t.step()
	return ref, math.Sqrt(variance + step*step/24), true
}
