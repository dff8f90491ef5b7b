package assess

import (
	"slices"
	"sync"

	"reddside/internal/logbook"
)

// lotLocks lets one request at a time work out what has changed in a lot; others
// that wait for it find the work done. It is safe for concurrent use.
type lotLocks struct {
	mu   sync.Mutex
	held map[logbook.ID]*lotLock
}

type lotLock struct {
	sync.Mutex
	users int
}

// lock takes lots and returns what gives them back. Everybody takes several in the
// same order, so that nobody waits for each other.
func (l *lotLocks) lock(lots ...logbook.ID) (unlock func()) {
	lots = slices.Clone(lots)
	slices.Sort(lots)
	lots = slices.Compact(lots)
	taken := make([]*lotLock, len(lots))
	for i, id := range lots {
		taken[i] = l.of(id)
		taken[i].Lock()
	}
	return func() {
		l.mu.Lock()
		defer l.mu.Unlock()
		for i, k := range taken {
			k.Unlock()
			if k.users--; k.users == 0 {
				delete(l.held, lots[i])
			}
		}
	}
}

func (l *lotLocks) of(id logbook.ID) *lotLock {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.held == nil {
		l.held = map[logbook.ID]*lotLock{}
	}
	k := l.held[id]
	if k == nil {
		k = &lotLock{}
		l.held[id] = k
	}
	k.users++
	return k
}
