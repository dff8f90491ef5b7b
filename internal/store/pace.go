package store

import (
	"sync"
	"time"

	"reddside/internal/logbook"
)

// How often a minute one tablet, and one person, may correct entries; local choices
// far above what anybody types. Every old form is kept for good.
const (
	maxTabletCorrections = 10
	maxStaffCorrections  = 60
)

// pace counts corrections of the last minute by tablet or account. It is kept in
// memory: a restart takes longer than it saves.
type pace struct {
	mu   sync.Mutex
	last map[string][]time.Time // oldest first
}

// take counts a correction, or refuses one too many with error.pace.
func (p *pace) take(a logbook.Actor, now time.Time) error {
	most, who := maxStaffCorrections, string(a.AccountID)
	if a.Role == logbook.Class {
		most = maxTabletCorrections
	}
	if who == "" {
		who = OwnerOf(a)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	for k, times := range p.last { // as few as people correct in a minute
		for len(times) > 0 && now.Sub(times[0]) >= time.Minute {
			times = times[1:]
		}
		if p.last[k] = times; len(times) == 0 {
			delete(p.last, k)
		}
	}
	if len(p.last[who]) >= most {
		return logbook.Errorf(logbook.Conflict, "error.pace", nil)
	}
	if p.last == nil {
		p.last = map[string][]time.Time{}
	}
	p.last[who] = append(p.last[who], now)
	return nil
}
