package ingest

import (
	"math"
	"sort"
	"time"
)

// QualityLimits say which readings are marked suspect. Nothing is removed. All
// defaults are local choices except where a source is named.
type QualityLimits struct {
	// Temperatures outside Lowest to Highest (C) are impossible for a tank.
	Lowest  float64 `json:"lowest_c"`
	Highest float64 `json:"highest_c"`
	// Freezing (C): fresh water below it is ice, so the sensor was frozen in
	// or dry. A good logger is within 0.5 of the truth.
	Freezing float64 `json:"freezing_c"`
	// Spike (C): a jump of more than this away from the readings on both
	// sides, for at most SpikeReadings readings and SpikeHours.
	Spike         float64 `json:"spike_c"`
	SpikeReadings int     `json:"spike_readings"`
	SpikeHours    float64 `json:"spike_hours"`
	// Stuck: more than StuckReadings equal values in a row over at least
	// StuckHours; 0 turns the rule off. Values within StuckFreezing (C) of 0
	// are left out: water at its freezing point does stand still.
	StuckReadings int     `json:"stuck_readings"`
	StuckHours    float64 `json:"stuck_hours"`
	StuckFreezing float64 `json:"stuck_freezing_c"`
	// Settled (C): so near to the middle of the day that follows is water again
	// after readings in the air; AirDays is how long a logger may lie outside.
	Settled float64 `json:"settled_c"`
	AirDays int     `json:"air_days"`
}

// DefaultQualityLimits returns the stock limits.
func DefaultQualityLimits() QualityLimits {
	return QualityLimits{
		Lowest: -5, Highest: 45, Freezing: -0.5,
		Spike: 3, SpikeReadings: 3, SpikeHours: 3,
		StuckReadings: 20, StuckHours: 3, StuckFreezing: 0.2,
		Settled: 1.5, AirDays: 14,
	}
}

// Reasons of a suspect reading.
const (
	ReasonImpossible = "ingest.suspect.impossible"
	ReasonFreezing   = "ingest.suspect.below_freezing"
	ReasonSpike      = "ingest.suspect.spike"
	ReasonStuck      = "ingest.suspect.stuck"
	ReasonAir        = "ingest.suspect.air"
)

// Mark sets Quality and Reason on readings in order of time that came from no
// file, such as those of a sensor.
func (l QualityLimits) Mark(rs []Reading, q Quantity) { l.mark(rs, q) }

// mark sets Quality and Reason on readings in order of time.
func (l QualityLimits) mark(rs []Reading, q Quantity) {
	low, high := l.Lowest, l.Highest
	switch q {
	case OxygenMgL: // saturation at 0 C is 14.6 mg/L; 25 is far above any supersaturated water
		low, high = 0, 25
	case OxygenPercent:
		low, high = 0, 300
	case Pressure: // from 5,500 m altitude to 10 m under water, in kPa
		low, high = 50, 210
	}
	for i := range rs {
		switch v := rs[i].Value; {
		case v < low || v > high:
			rs[i].Quality, rs[i].Reason = Suspect, ReasonImpossible
		case q == Temperature && v < l.Freezing:
			rs[i].Quality, rs[i].Reason = Suspect, ReasonFreezing
		}
	}
	if q != Temperature {
		return
	}
	l.markEnds(rs)
	l.markSpikes(rs)
	l.markStuck(rs)
}

// markSpikes marks short excursions between two good readings that agree.
func (l QualityLimits) markSpikes(rs []Reading) {
	if l.Spike <= 0 {
		return
	}
	for i := 1; i < len(rs); i++ {
		before := rs[i-1]
		if before.Quality != Good || !before.On.IsZero() {
			continue
		}
		for n := 1; n <= l.SpikeReadings && i+n < len(rs); n++ {
			after := rs[i+n]
			if after.At.Sub(before.At) > hours(l.SpikeHours) {
				break
			}
			if away(rs[i:i+n], before.Value, l.Spike) && away(rs[i:i+n], after.Value, l.Spike) &&
				math.Abs(after.Value-before.Value) < l.Spike && after.Quality == Good {
				for k := i; k < i+n; k++ {
					if rs[k].Quality == Good {
						rs[k].Quality, rs[k].Reason = Suspect, ReasonSpike
					}
				}
				break
			}
		}
	}
}

// away reports whether all readings lie further than d on one side of v.
func away(rs []Reading, v, d float64) bool {
	up := rs[0].Value > v
	for _, r := range rs {
		if up && r.Value-v <= d || !up && v-r.Value <= d {
			return false
		}
	}
	return true
}

// markStuck marks runs of one value that are long for their own series. Deep
// or well-held water does stand still, so where a series has many runs the
// limit grows to twice the length that 99 of 100 runs keep below.
func (l QualityLimits) markStuck(rs []Reading) {
	if l.StuckReadings <= 0 {
		return
	}
	type run struct{ from, n int }
	var runs []run
	for i := 0; i < len(rs); {
		j := i + 1
		for j < len(rs) && rs[j].Value == rs[i].Value {
			j++
		}
		runs = append(runs, run{i, j - i})
		i = j
	}
	limit := l.StuckReadings
	const enough = 100
	if len(runs) >= enough {
		lengths := make([]int, len(runs))
		for i, r := range runs {
			lengths[i] = r.n
		}
		sort.Ints(lengths)
		limit = max(limit, 2*lengths[len(lengths)*99/100])
	}
	for _, r := range runs {
		first, last := rs[r.from], rs[r.from+r.n-1]
		if r.n <= limit || math.Abs(first.Value) <= l.StuckFreezing {
			continue
		}
		if first.On.IsZero() && last.At.Sub(first.At) < hours(l.StuckHours) {
			continue
		}
		for k := r.from; k < r.from+r.n; k++ {
			if rs[k].Quality == Good {
				rs[k].Quality, rs[k].Reason = Suspect, ReasonStuck
			}
		}
	}
}

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }
