package stats

import (
	"fmt"
	"math"
	"slices"
)

// Settings of the temperature rules; thresholds by simulation (package sim) on
// assumed water.
const (
	DriftLimitC    = 1.1  // 2 Fahrenheit degrees, rounded
	driftTieC      = 1e-6 // coarse readings tie at 1.1; a tie is no drift
	DriftStart     = 10   // readings before the rule speaks
	driftUsualDays = 14.0 // "usual" is made of readings this old
	driftRecent    = 5    // readings in the recent mean

	driftLivelyMin   = 10  // earlier readings from which a tank's liveliness is judged
	driftLivelyTimes = 3.0 // spreads
	StuckMinRun      = 5
	MisreadLimitC    = 1.5
	misreadMedian    = 7
)

// Series is readings of one thermometer: days (any zero, ascending) and degrees
// Celsius, of equal length. After a recorded change of the setpoint, pass the
// readings since the change only.
type Series struct {
	Days, Celsius []float64
}

// Validate returns an error that wraps ErrInput when lengths differ, days go
// back or a value is not finite.
func (s Series) Validate() error {
	if len(s.Days) != len(s.Celsius) {
		return fmt.Errorf("%w: %d days, %d readings", ErrInput, len(s.Days), len(s.Celsius))
	}
	for i, d := range s.Days {
		if i > 0 && !(d >= s.Days[i-1]) || math.IsNaN(s.Celsius[i]) || math.IsInf(s.Celsius[i], 0) {
			return fmt.Errorf("reading %d: %w", i, ErrInput)
		}
	}
	return nil
}

// Drift is how the last readings lie against the usual.
type Drift struct {
	Known   bool    // enough readings
	Usual   float64 // degrees Celsius
	Recent  float64 // mean of the last 5 readings
	Change  float64 // Recent - Usual
	Flagged bool    // |Change| above DriftLimitC and DriftLively
}

// LastDrift judges the newest reading: usual = median of readings 14 or more
// days older (of the first 10 when those are fewer), recent = mean of the last
// 5. It speaks from the 11th reading on. The series must be valid.
func LastDrift(s Series) Drift {
	old, recent, ok := DriftParts(s)
	if !ok {
		return Drift{}
	}
	usual := Median(old)
	d := Drift{Known: true, Usual: usual, Recent: recent, Change: recent - usual}
	d.Flagged = math.Abs(d.Change) > DriftLimitC+driftTieC && math.Abs(d.Change) > DriftLively(old, usual)+driftTieC &&
		DriftSettled(s, usual, d.Change)
	return d
}

// DriftSettled reports whether most of the last readings went the way of their
// mean: their median lies at least half of DriftLimitC from the usual. One far
// reading, back at the next look, is no drift; water that drifts is not held up
// by this, because there mean and median are alike. Local choice.
func DriftSettled(s Series, usual, change float64) bool {
	off := Median(s.Celsius[len(s.Celsius)-driftRecent:]) - usual
	return off*change > 0 && math.Abs(off) > DriftLimitC/2
}

// DriftLively is how far the mean of five readings of a tank must lie from the
// usual to be more than its ordinary ups and downs: three times their spread,
// 1.4826 times the median distance of the earlier means of five from the usual.
// Degrees; 0 with fewer than driftLivelyMin readings, when nothing is known of it.
// Chosen by simulation and on real daily records; no source.
func DriftLively(old []float64, usual float64) float64 {
	if len(old) < driftLivelyMin {
		return 0
	}
	away := make([]float64, 0, len(old)-driftRecent+1)
	sum := 0.0
	for i, c := range old {
		sum += c
		if i >= driftRecent {
			sum -= old[i-driftRecent]
		}
		if i >= driftRecent-1 {
			away = append(away, math.Abs(sum/driftRecent-usual))
		}
	}
	return driftLivelyTimes * 1.4826 * Median(away)
}

// DriftParts returns the readings whose median is the usual, and the recent mean,
// of LastDrift. ok is false while there are too few readings.
func DriftParts(s Series) (usual []float64, recent float64, ok bool) {
	n := len(s.Celsius)
	if n <= DriftStart {
		return nil, 0, false
	}
	now := s.Days[n-1]
	// The small step forgives the rounding of fractional days.
	old, _ := slices.BinarySearch(s.Days, now-driftUsualDays+1e-9)
	return s.Celsius[:max(old, DriftStart)], Mean(s.Celsius[n-driftRecent:]), true
}

// StuckScore scores a run of identical readings: u = Wilson upper limit
// (z = 1.2816) of the share of repeats among the pairs of neighbours before the
// run (0.9 without pairs); score = -(run-1) log10 u.
func StuckScore(earlierPairs, repeats, run int) (u, score float64) {
	u = 0.9
	if earlierPairs > 0 {
		u = wilsonZ(float64(repeats), float64(earlierPairs), 1.2816).Upper
	}
	return u, math.Max(0, -float64(run-1)*math.Log10(u))
}

// Stuck is the verdict about the newest run of identical readings.
type Stuck struct {
	Run     int // identical readings at the end
	Score   float64
	Flagged bool
}

// LastStuck judges the newest run of identical readings against how often
// neighbours were equal before it. Flagged from StuckMinRun readings on, at a
// score of 3 for steps up to 0.2 C and 4 up to 0.6 C (half a Celsius or a whole
// Fahrenheit degree). With coarser steps repeats say nothing: never flagged.
func LastStuck(celsius []float64, stepC float64) Stuck {
	n := len(celsius)
	if n == 0 {
		return Stuck{}
	}
	run := 1
	for run < n && same(celsius[n-run-1], celsius[n-1]) {
		run++
	}
	first := n - run
	repeats := 0
	for i := 1; i <= first; i++ {
		if same(celsius[i], celsius[i-1]) {
			repeats++
		}
	}
	_, score := StuckScore(first, repeats, run)
	out := Stuck{Run: run, Score: score}
	if limit, ok := stuckLimit(stepC); ok {
		out.Flagged = run >= StuckMinRun && score >= limit
	}
	return out
}

func same(a, b float64) bool { return math.Abs(a-b) < 1e-6 }

func stuckLimit(stepC float64) (limit float64, ok bool) {
	switch {
	case stepC <= 0.2+1e-9:
		return 3, true
	case stepC <= 0.6:
		return 4, true
	}
	return 0, false
}

// Misread is a question to ask while a reading is being typed in.
type Misread struct {
	Usual      float64 // median of up to 7 readings before
	Jump       float64 // new - Usual
	Ask        bool    // |Jump| at least 1.5 C plus half a step
	Fahrenheit bool    // the number would fit if it were Fahrenheit
}

// CheckMisread compares a new reading with the median of the last 7. Nothing is
// asked without an earlier reading. It never corrects.
func CheckMisread(earlier []float64, reading, stepC float64) Misread {
	if len(earlier) == 0 {
		return Misread{}
	}
	usual := Median(earlier[max(0, len(earlier)-misreadMedian):])
	m := Misread{Usual: usual, Jump: reading - usual}
	m.Ask = math.Abs(m.Jump) >= MisreadLimitC+stepC/2-1e-9
	m.Fahrenheit = m.Ask && math.Abs((reading-32)/1.8-usual) <= 2+1e-9
	return m
}

// ReadingStep returns the step, in Celsius degrees, to which readings were
// rounded: the coarsest of whole, half, fifth and tenth degrees Celsius or
// Fahrenheit that fits at least 95 % of them (typing slips aside); 0 when
// none fits or fewer than 3 different values were read, from which no step shows.
// Common practice, no source.
func ReadingStep(celsius []float64) float64 {
	different := slices.CompactFunc(slices.Sorted(slices.Values(celsius)), same)
	if len(different) < 3 {
		return 0
	}
	steps := []struct{ step, scale, offset float64 }{
		{1, 1, 0}, {1 / 1.8, 1.8, 32}, {0.5, 1, 0}, {0.5 / 1.8, 1.8, 32},
		{0.2, 1, 0}, {0.2 / 1.8, 1.8, 32}, {0.1, 1, 0}, {0.1 / 1.8, 1.8, 32},
	}
	for _, s := range steps {
		unit := s.step * s.scale
		fits := 0
		for _, c := range celsius {
			k := (c*s.scale + s.offset) / unit
			// Stored values may have been rounded to 0.01 C.
			if math.Abs(k-math.Round(k)) <= math.Min(0.012*s.scale/unit, 0.1) {
				fits++
			}
		}
		if float64(fits) >= 0.95*float64(len(celsius)) {
			return s.step
		}
	}
	return 0
}
