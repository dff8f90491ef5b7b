package req

import (
	"bytes"
	"errors"
	"io"
	"net/http"
	"runtime"

	"reddside/internal/logbook"
)

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
				err = &logbook.Error{Kind: logbook.Invalid, Key: "api.not_json", Args: logbook.Args{"Offset": 0}, Err: err}
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
