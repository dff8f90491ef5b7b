package school

import (
	"sync"
	"time"
)

// Pairing codes are guessed against here. A code has 8 of 31 letters, so
// 31^8 = 8.5e11 codes, works once and for 15 minutes.
//
// Three counts slow wrong tries down. A tablet has its own, by a cookie, with
// growing waits (limiter): a pupil who mistypes waits alone. A cookie can be
// dropped, so an address has a count too; a whole school behind one address
// may mistype pairAddressFree times at once and then every pairAddressEvery. Last,
// all addresses together have pairAllFree and one each pairAllEvery. Within 15
// minutes that is at most 120 + 900 tries, so with ten codes open a stranger on
// the network finds one with a chance of 1.2e-8; and trying without a pause for
// a whole year of 35,000 such stretches, 4e-4.
//
// Only wrong tries count, nobody is shut out for longer than it takes one place
// to come free, and tablets that are paired already never notice.
const (
	PairAddressFree  = 30
	PairAddressEvery = 5 * time.Second
	PairAllFree      = 120
	pairAllEvery     = time.Second
)

// pairPace counts wrong tries of addresses and of all together. It is safe for
// concurrent use and forgets at restart, as codes are worth nothing 15 minutes
// later.
type pairPace struct {
	mu      sync.Mutex
	all     pace
	address map[string]pace
}

// pace is a bucket: full at its free number, one more with every interval.
type pace struct {
	used float64 // places taken at the time at
	at   time.Time
}

func NewPairPace() *pairPace { return &pairPace{address: map[string]pace{}} }

// after is the bucket at now, with what has come free. A clock that was set back
// frees nothing and takes nothing.
func (p pace) after(now time.Time, every time.Duration) pace {
	gone := max(0, now.Sub(p.at))
	return pace{used: max(0, p.used-float64(gone)/float64(every)), at: now}
}

// wait is how long until a place is free; 0 when there is one.
func (p pace) wait(free int, every time.Duration) time.Duration {
	if p.used+1 <= float64(free) {
		return 0
	}
	return time.Duration((p.used + 1 - float64(free)) * float64(every))
}

// Try takes a place before the outcome is known, so that many tries at once
// cannot slip through, and returns how long to wait instead; 0 lets it go on.
func (l *pairPace) Try(address string, now time.Time) time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.forget(now)
	one, all := l.address[address].after(now, PairAddressEvery), l.all.after(now, pairAllEvery)
	if d := max(one.wait(PairAddressFree, PairAddressEvery), all.wait(PairAllFree, pairAllEvery)); d > 0 {
		return d
	}
	one.used++
	all.used++
	l.address[address], l.all = one, all
	return 0
}

// passed gives the place of a right code back.
func (l *pairPace) passed(address string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	one := l.address[address]
	one.used, l.all.used = max(0, one.used-1), max(0, l.all.used-1)
	l.address[address] = one
}

// forget drops addresses that have all their places again.
func (l *pairPace) forget(now time.Time) {
	if len(l.address) <= 1000 {
		return
	}
	for a, p := range l.address {
		if p.after(now, PairAddressEvery).used == 0 {
			delete(l.address, a)
		}
	}
}
