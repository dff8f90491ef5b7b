package care_test

import (
	"testing"

	"reddside/internal/care"
	"reddside/internal/logbook"
	"reddside/internal/units"
)

// Bucket 11 C and stream 20 C: half of brown trout moved so died within 14 days
// (Huysman et al. 2020, read), and tempering did not help.
func TestStreamVerdict(t *testing.T) {
	o := func(v float64) units.Optional[units.MgPerL] { return units.Some(units.MgPerL(v)) }
	for _, c := range []struct {
		name string
		s    care.Stream
		want care.Verdict
	}{
		{"20 C", care.Stream{Species: logbook.BrownTrout, Stage: logbook.Fry, Bucket: some(11), Stream: some(20)},
			care.No},
		{"as it should be", care.Stream{Stage: logbook.Fry, Bucket: some(11), Stream: some(10), Oxygen: o(10),
			PH: units.Some(7.2), BucketPH: units.Some(7.4)}, care.Go},
		{"warm", care.Stream{Stage: logbook.Fry, Bucket: some(12), Stream: some(15)}, care.Wait},
		{"alevins", care.Stream{Stage: logbook.Alevin, Stream: some(14)}, care.No},
		{"gap", care.Stream{Stage: logbook.Fry, Bucket: some(14), Stream: some(8)}, care.Wait},
		{"ice", care.Stream{Stage: logbook.Fry, Stream: some(3)}, care.No},
		{"no oxygen", care.Stream{Stage: logbook.Fry, Stream: some(10), Oxygen: o(4)}, care.No},
		{"acid", care.Stream{Stage: logbook.Fry, Stream: some(10), PH: units.Some(5.5)}, care.No},
		{"other pH", care.Stream{Stage: logbook.Fry, Stream: some(10), PH: units.Some(6.8), BucketPH: units.Some(8.0)},
			care.Wait},
	} {
		got, why := care.JudgeStream(c.s)
		if got != c.want || (got != care.Go) != (len(why) > 0) {
			t.Errorf("%s: %s, want %s; %+v", c.name, got, c.want, why)
		}
	}
}
