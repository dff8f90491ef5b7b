package form

import (
	"reddside/internal/logbook"
)

// FillSample takes from the weights of single fish what was not said.
func FillSample(m *logbook.Sample, hasCount, hasTotal bool) {
	if len(m.Weights) == 0 {
		return
	}
	if !hasCount {
		m.Count = len(m.Weights)
	}
	if !hasTotal {
		m.Total = 0
		for _, w := range m.Weights {
			m.Total += w
		}
	}
}
