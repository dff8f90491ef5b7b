// Package assess looks at seasons as they are stored: it loads a season with its
// evidence, computes forecast and rules, keeps what was computed, and keeps the
// stored life of flags in step. It knows nothing of requests.
package assess

import (
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"reddside/internal/civil"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/units"
)

// Service assesses seasons. It is safe for concurrent use.
type Service struct {
	db      *store.DB
	clock   func() time.Time
	log     *slog.Logger
	board   *boardCache
	lots    lotCache
	shown   wordsCache
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

// Today is the date on the wall of a site now.
func (s *Service) Today(site logbook.Site, now time.Time) civil.Date {
	loc, known := s.zones.Load(site.Zone)
	if !known {
		loc, _ = s.zones.LoadOrStore(site.Zone, site.Location())
	}
	return civil.In(now, loc.(*time.Location))
}

func Celsius(v float64) units.Celsius { return units.Celsius(v) }
