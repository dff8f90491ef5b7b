package ingest

import (
	"math"
	"slices"
	"time"
)

// A logger is switched on in the office and read out there: the first and the last
// readings are of the air. Near water of a steady temperature they are far off,
// and the change comes within an hour.

// markEnds marks readings of the air at the start and the end; a few of them
// are a spike.
func (l QualityLimits) markEnds(rs []Reading) {
	if l.Spike <= 0 || l.AirDays <= 0 {
		return
	}
	for _, e := range []end{{rs, false}, {rs, true}} {
		n := l.outside(e)
		if n == 0 {
			continue
		}
		reason := ReasonAir
		if n <= l.SpikeReadings && e.apart(0, n-1) <= hours(l.SpikeHours) {
			reason = ReasonSpike
		}
		for i := range n {
			if r := e.at(i); r.Quality == Good {
				r.Quality, r.Reason = Suspect, reason
			}
		}
	}
}

// end is a list of readings from its start, or backward from its last.
type end struct {
	rs   []Reading
	back bool
}

func (e end) at(i int) *Reading {
	if e.back {
		i = len(e.rs) - 1 - i
	}
	return &e.rs[i]
}

func (e end) apart(i, j int) time.Duration { return e.at(j).At.Sub(e.at(i).At).Abs() }

// outside counts the readings before the logger came into the water, 0 when it
// was there from the beginning.
func (l QualityLimits) outside(e end) int {
	const tries = 40 // a bound on the work
	n := len(e.rs)
	tried := 0
	for k := 1; k < n && tried < tries && e.at(k).On.IsZero(); k++ {
		if e.apart(0, k) > time.Duration(l.AirDays)*24*time.Hour || k*2 > n {
			return 0
		}
		if e.at(k).Quality != Good || !l.jumps(e, k) {
			continue
		}
		tried++
		middle, ok := l.steady(e, k)
		if !ok || math.Abs(e.at(k).Value-middle) > l.Settled || !l.allOff(e, k, middle) {
			continue
		}
		// The last of the way down, within the hour.
		for from := k; k+1 < n && e.apart(from, k) <= time.Hour; k++ {
			here, next := math.Abs(e.at(k).Value-middle), math.Abs(e.at(k+1).Value-middle)
			if here <= l.Settled/3 || next >= here {
				break
			}
		}
		return k
	}
	return 0
}

// jumps reports a change of more than Spike to reading k from the one before, or
// from any within the hour before.
func (l QualityLimits) jumps(e end, k int) bool {
	for j := k - 1; j >= 0 && (j == k-1 && e.apart(j, k) <= hours(l.SpikeHours) || e.apart(j, k) <= time.Hour); j-- {
		if math.Abs(e.at(j).Value-e.at(k).Value) > l.Spike {
			return true
		}
	}
	return false
}

// steady is the middle of the day from reading k, when nearly all of its readings
// lie within Spike of it: a stream that warms and cools by more is not judged.
func (l QualityLimits) steady(e end, k int) (middle float64, ok bool) {
	const most, fewest = 3000, 4
	var v []float64
	last := k
	for i := k; i < len(e.rs) && len(v) < most && e.apart(k, i) <= 24*time.Hour; i++ {
		if e.at(i).Quality == Good {
			v, last = append(v, e.at(i).Value), i
		}
	}
	if len(v) < fewest || e.apart(k, last) < hours(l.SpikeHours) {
		return 0, false
	}
	slices.Sort(v)
	middle = v[len(v)/2]
	off := 0
	for _, x := range v {
		if math.Abs(x-middle) > l.Spike {
			off++
		}
	}
	return middle, off*20 <= len(v)
}

// allOff reports whether every good reading before k lies off the middle, all on one
// side: by more than Spike, or on the way within the last hour.
func (l QualityLimits) allOff(e end, k int, middle float64) bool {
	side := 0.0
	for i := range k {
		r := e.at(i)
		if r.Quality != Good {
			continue
		}
		d := r.Value - middle
		if side == 0 {
			side = math.Copysign(1, d)
		}
		if d *= side; d <= l.Settled || d <= l.Spike && e.apart(i, k) > time.Hour {
			return false
		}
	}
	return side != 0
}
