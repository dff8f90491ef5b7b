package entries

import (
	"slices"

	"reddside/internal/logbook"
)

// sampleSame reports whether the numbers of two samples are the same.
func SampleSame(a, b *logbook.Sample) bool {
	return a.Count == b.Count && a.Total == b.Total && slices.Equal(a.Lengths, b.Lengths) && a.On == b.On
}
