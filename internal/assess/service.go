// Package assess looks at seasons as they are stored: it loads a season with its
// evidence, computes forecast and rules, keeps what was computed, and keeps the
// stored life of flags in step. It knows nothing of requests.
package assess

import (
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"reddside/internal/rules"
	"reddside/internal/store"
)

// Service assesses seasons. It is safe for concurrent use.
type Service struct {
	db      *store.DB
	clock   func() time.Time
	log     *slog.Logger
	board   *boardCache
	lots    lotCache
	shown   shownCache
	filling lotLocks
	limits  atomic.Pointer[rules.Profile] // the newest profile in use
	zones   sync.Map                      // *time.Location by name: finding one is slow
}

// New returns a service over a store.
func New(db *store.DB, clock func() time.Time, log *slog.Logger) *Service {
	s := &Service{db: db, clock: clock, log: log, board: newBoardCache()}
	db.OnJudged(s.committed)
	return s
}
