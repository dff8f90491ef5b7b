package rules

import (
	"reddside/internal/civil"
	"reddside/internal/logbook"
)

// ReplayedDays returns the flags of each day of a replay, from the first delivery
// to a day.
func ReplayedDays(s *logbook.Season, p *Profile, until civil.Date) [][]Flag {
	a := newTrack(s, p)
	var out [][]Flag
	for d := a.track.whole.StartedOn(); !d.After(until); d = d.AddDays(1) {
		a.moveTo(d)
		a.judge()
		out = append(out, append([]Flag(nil), a.out.Flags...))
	}
	return out
}
