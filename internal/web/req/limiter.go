package req

import (
	"bytes"
	"errors"
	"io"
	"net/http"
	"runtime"
	"sync"
	"time"

	"reddside/internal/logbook"
)

// freeTries is how many wrong passphrases are taken before each further one has to
// wait, twice as long every time, up to maxWait. The whole school is never locked
// out: the count belongs to the account, not to the address.
const (
	FreeTries = 5
	FirstWait = 2 * time.Second
	MaxWait   = 15 * time.Minute
)

// A count is forgotten this long after its last try. That of an account must not
// be worth waiting for: five tries a day are fewer than one each maxWait. A pairing
// code is worth nothing after pairCodeLifetime.
const (
	RememberAccount = 24 * time.Hour
	rememberPairing = time.Hour
)

// limiter slows down guessing. Its keys must be of things that there are, or be
// had at a pace: nothing else bounds its memory, since forgetting a count early
// would give the tries back. It is safe for concurrent use and forgets at restart,
// which costs an attacker with console access nothing he lacks.
type limiter struct {
	mu       sync.Mutex
	remember time.Duration
	swept    time.Time
	Wrong    map[string]*tries
}

type tries struct {
	N           int
	until, last time.Time
}

func NewLimiter(remember time.Duration) *limiter {
	return &limiter{remember: remember, Wrong: map[string]*tries{}}
}

// Try counts a try before its outcome is known, so that many at once cannot
// slip through, and returns how long the key has to wait instead; 0 lets the try
// go on. passed takes the count back.
func (l *limiter) Try(key string, now time.Time) time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.forget(now)
	t := l.Wrong[key]
	if t == nil {
		t = &tries{}
		l.Wrong[key] = t
	}
	if now.Before(t.until) {
		return t.until.Sub(now)
	}
	t.N++
	t.last = now
	if t.N >= FreeTries {
		d := FirstWait << min(t.N-FreeTries, 9)
		t.until = now.Add(min(d, MaxWait))
	}
	return 0
}

// forget drops the counts whose time is over, once in a while.
func (l *limiter) forget(now time.Time) {
	if now.Sub(l.swept) < l.remember/10 {
		return
	}
	l.swept = now
	for key, t := range l.Wrong {
		if now.Sub(t.last) > l.remember {
			delete(l.Wrong, key)
		}
	}
}

// Passed forgets the wrong tries of a key.
func (l *limiter) Passed(key string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.Wrong, key)
}

// calcTurns lets calculators, which anybody may ask, take turns: half of the
// processor at most, so that a save never waits behind them. So many may wait.
type calcTurns struct{ running, Waiting chan struct{} }

const calcWaiting = 64

func newCalcTurns() calcTurns {
	return calcTurns{make(chan struct{}, max(1, runtime.GOMAXPROCS(0)/2)), make(chan struct{}, calcWaiting)}
}

// OneByOne takes a turn once the body is here: somebody who sends slowly holds
// nobody up.
func (s *Kernel) OneByOne(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		select {
		case s.Turns.Waiting <- struct{}{}:
			defer func() { <-s.Turns.Waiting }()
		default:
			w.Header().Set("Retry-After", "1")
			s.failAny(w, r, logbook.Errorf(logbook.Unavailable, "calc.busy", nil))
			return
		}
		body, err := io.ReadAll(r.Body)
		if err != nil {
			var tooLarge *http.MaxBytesError
			if !errors.As(err, &tooLarge) {
				err = &logbook.Error{Kind: logbook.Invalid, Key: "api.not_json", Args: logbook.Args{"Offset": 0},
					Err: err}
			}
			s.failAny(w, r, err)
			return
		}
		r.Body = io.NopCloser(bytes.NewReader(body))
		select {
		case s.Turns.running <- struct{}{}:
			defer func() { <-s.Turns.running }()
		case <-r.Context().Done():
			return
		}
		next.ServeHTTP(w, r)
	})
}
