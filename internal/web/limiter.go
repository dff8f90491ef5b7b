package web

import (
	"sync"
	"time"
)

// freeTries is how many wrong passphrases an account takes before each further
// one has to wait, twice as long every time, up to maxWait. The whole school is
// never locked out: the count belongs to the account, not to the address.
const (
	freeTries = 5
	firstWait = 2 * time.Second
	maxWait   = 15 * time.Minute
)

// limiter slows down guessing. It is safe for concurrent use and forgets at
// restart, which costs an attacker with console access nothing he lacks.
type limiter struct {
	mu    sync.Mutex
	wrong map[string]*tries
}

type tries struct {
	n     int
	until time.Time
}

func newLimiter() *limiter { return &limiter{wrong: map[string]*tries{}} }

// try counts a try before its outcome is known, so that many at once cannot
// slip through, and returns how long the key has to wait instead; 0 lets the try
// go on. passed takes the count back.
func (l *limiter) try(key string, now time.Time) time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.wrong) > 10_000 { // bounded: forget those who may try again anyway
		for k, t := range l.wrong {
			if now.After(t.until) {
				delete(l.wrong, k)
			}
		}
	}
	t := l.wrong[key]
	if t == nil {
		t = &tries{}
		l.wrong[key] = t
	}
	if now.Before(t.until) {
		return t.until.Sub(now)
	}
	t.n++
	if t.n >= freeTries {
		d := firstWait << min(t.n-freeTries, 9)
		t.until = now.Add(min(d, maxWait))
	}
	return 0
}

// passed forgets the wrong tries of a key.
func (l *limiter) passed(key string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.wrong, key)
}
