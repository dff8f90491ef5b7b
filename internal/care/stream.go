package care

import (
	"math"

	"reddside/internal/logbook"
	"reddside/internal/units"
	"reddside/internal/water"
)

// Verdict is whether fish go into a stream.
type Verdict string

// The verdicts, best first.
const (
	Go   Verdict = "go"
	Wait Verdict = "wait" // for another hour or day, or until the bucket is closer
	No   Verdict = "no"
)

// Stream is what was measured at the bank. Absent values give no reason.
type Stream struct {
	Species        logbook.Species
	Stage          logbook.Stage
	Bucket, Stream units.Optional[units.Celsius]
	Oxygen         units.Optional[units.MgPerL]
	PH, BucketPH   units.Optional[float64]
}

// Reason is why a stream is not simply right.
type Reason struct {
	ID      string // of its text, release.reason.<id>
	Verdict Verdict
	Limit   float64 // in the unit of what was measured
	Source  string
	Known   Known
}

// Limits of a stream. Between warm and tooWarm, and tooCold and cold, it waits.
const (
	streamCold    = 7.0
	streamTooCold = 4.0
	streamWarm    = 14.0
	streamTooWarm = 18.0
	alevinTooWarm = 13.0
	streamOxygen  = 6.5
	streamLowO2   = 5.0
	phStep        = 1.0
)

// huysman is why warm water is no matter of tempering.
const huysman = "Huysman et al. 2020: from 11 C half of brown trout died in 14 days at 20 C, tempered or not"

// JudgeStream returns the verdict on a stream, which is that of its worst reason.
func JudgeStream(s Stream) (Verdict, []Reason) {
	var out []Reason
	add := func(bad bool, r Reason) bool {
		if bad {
			out = append(out, r)
		}
		return bad
	}
	epa := "US EPA Region 10 2003, from memory"
	if t, ok := s.Stream.Get(); ok {
		top, source, known := streamTooWarm, epa, Memory
		if s.Stage == logbook.Alevin {
			top = alevinTooWarm
		}
		if s.Species == logbook.BrownTrout {
			source, known = huysman, Read
		}
		switch v := float64(t); {
		case add(v > top, Reason{"too_warm", No, top, source, known}):
		case add(v >= math.Min(streamWarm, top), Reason{"warm", Wait, math.Min(streamWarm, top), "", Practice}):
		case add(v < streamTooCold, Reason{"too_cold", No, streamTooCold, "Tennessee classroom programme: above 40 F",
			Read}):
		default:
			add(v < streamCold, Reason{"cold", Wait, streamCold, "", Practice})
		}
		if b, ok := s.Bucket.Get(); ok {
			add(math.Abs(float64(b-t)) >= float64(water.TemperingGap), Reason{"gap", Wait, float64(water.TemperingGap),
				"wildlife agency and hatchery sheets: 10 F", Read})
		}
	}
	if o, ok := s.Oxygen.Get(); ok {
		if !add(float64(o) < streamLowO2, Reason{"no_oxygen", No, streamLowO2, "US EPA 1986, from memory", Memory}) {
			add(float64(o) < streamOxygen, Reason{"low_oxygen", Wait, streamOxygen, "US EPA 1986, from memory", Memory})
		}
	}
	if ph, ok := s.PH.Get(); ok {
		if !add(ph < 6 || ph > 9, Reason{"bad_ph", No, 6, "Pacific salmon, ten-day tests of 1983, abstract", Read}) {
			add(ph < 6.5 || ph > 8.5, Reason{"odd_ph", Wait, 6.5, "CCME and US EPA fresh water range", Read})
		}
		if b, ok := s.BucketPH.Get(); ok {
			add(math.Abs(b-ph) >= phStep, Reason{"ph_gap", Wait, phStep, "", Practice})
		}
	}
	v := Go
	for _, r := range out {
		if r.Verdict == No || v == Go {
			v = r.Verdict
		}
	}
	return v, out
}
