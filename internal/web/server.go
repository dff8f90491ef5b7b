// Package web is the shell of Reddside: routes, handlers, forms, sessions and
// the JSON interface. A handler parses, loads, lets a pure package compute, and
// renders; it holds no rule of the job itself.
package web

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"github.com/alexedwards/scs/v2"

	"reddside/internal/civil"
	"reddside/internal/i18n"
	"reddside/internal/logbook"
	"reddside/internal/rules"
	"reddside/internal/store"
	"reddside/internal/web/view"
)

// Options says how the server is to run.
type Options struct {
	DB    *store.DB
	Clock func() time.Time // time.Now outside tests
	Log   *slog.Logger
	// Hosts are the names, without port, under which the server answers beside
	// loopback names. A request under another name is refused, which closes
	// DNS rebinding.
	Hosts []string
	TLS   bool // cookies are marked Secure
	// Demo offers the three roles at a click, to loopback clients only.
	Demo bool
}

// Server answers requests. It is safe for concurrent use.
type Server struct {
	pictures  sync.Mutex // held while a photograph is worked on
	db        *store.DB
	cat       *i18n.Catalogue
	clock     func() time.Time
	log       *slog.Logger
	hosts     map[string]bool
	demo      bool
	tls       bool
	sessions  *scs.SessionManager
	assets    *assets
	tries     *limiter // of passphrases and the set-up code
	pairTries *limiter // of pairing codes
	pairing   *pairPace
	network   network
	hashing   chan struct{} // bounds how many passphrases are hashed at once
	turns     calcTurns
	board     *boardCache
	lots      lotCache
	shown     shownCache
	limits    atomic.Pointer[rules.Profile] // the newest profile in use
	zones     sync.Map                      // *time.Location by name: finding one is slow
	entries   http.Handler                  // the signed-in pages, for entries kept over a sign-in
	handler   http.Handler
	// currentRow is the stored row that an error carries, as JSON shows it.
	currentRow func(error) any
	// releaseNoticeOf says on the page of a tank that its release comes up.
	releaseNoticeOf func(context.Context, *visit, assessed) (view.ReleaseNotice, error)
}

// New returns a server, or an error when its texts or assets cannot be read.
func New(o Options) (*Server, error) {
	cat, err := i18n.Load()
	if err != nil {
		return nil, fmt.Errorf("load texts: %w", err)
	}
	as, err := newAssets()
	if err != nil {
		return nil, fmt.Errorf("load assets: %w", err)
	}
	s := &Server{
		db: o.DB, cat: cat, clock: o.Clock, log: o.Log, demo: o.Demo, tls: o.TLS,
		hosts: map[string]bool{}, assets: as, tries: newLimiter(rememberAccount), pairTries: newLimiter(rememberPairing), pairing: newPairPace(), hashing: make(chan struct{}, 2), turns: newCalcTurns(),
		board: newBoardCache(),
	}
	for _, h := range o.Hosts {
		s.hosts[h] = true
	}
	s.currentRow = currentOf
	s.releaseNoticeOf = s.releaseNotice
	s.sessions = s.newSessions()
	s.handler = s.routes()
	return s, nil
}

// ServeHTTP implements http.Handler.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// today is the date on the wall of a site now.
func (s *Server) today(site logbook.Site, now time.Time) civil.Date {
	loc, known := s.zones.Load(site.Zone)
	if !known {
		loc, _ = s.zones.LoadOrStore(site.Zone, site.Location())
	}
	return civil.In(now, loc.(*time.Location))
}
