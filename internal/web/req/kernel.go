// Package req is what every page needs of a request: who asks and in which
// language, sessions and sign-in, pages and errors, recovery, limits.
package req

import (
	"context"
	"fmt"
	"io/fs"
	"log/slog"
	"net/http"
	"path/filepath"
	"time"

	"github.com/alexedwards/scs/v2"

	"reddside/internal/assess"
	"reddside/internal/entries"
	"reddside/internal/i18n"
	"reddside/internal/replica"
	"reddside/internal/store"
	"reddside/internal/web/ui"
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
	// Replica is the copy that is kept elsewhere, nil when there is none.
	Replica *replica.Replica
	// Computer is where the program runs.
	Computer Computer
}

// Computer is what the pages may know and do of the computer that serves them.
type Computer struct {
	Version string
	Open    func() bool      // tablets can reach it; nil where the start says where it listens
	SetOpen func(bool) error // at once, and remembered; with Open
	// Replace puts a verified backup in the place of the logbook when the running
	// requests have ended; nil where that cannot be done.
	Replace func(backup string)
}

// Kernel is what the areas share. It is safe for concurrent use.
type Kernel struct {
	DB       *store.DB
	Cat      *i18n.Catalogue
	Clock    func() time.Time
	Log      *slog.Logger
	Hosts    map[string]bool // names under which the server answers
	Demo     bool
	Replica  *replica.Replica // nil when there is none
	Computer Computer
	TLS      bool
	Sessions *scs.SessionManager
	Assets   *assets
	Tries    *limiter // of passphrases and the set-up code
	// PairTries are those of pairing codes.
	PairTries *limiter
	Network   network
	Hashing   chan struct{} // bounds how many passphrases are hashed at once
	Turns     calcTurns     // of the calculators
	Assess    *assess.Service
	Entries   *entries.Service
	Pages     http.Handler // the signed-in pages, for entries kept over a sign-in
	Handler   http.Handler // all routes
	// CurrentRow is the stored row that an error carries, as JSON shows it.
	CurrentRow func(error) any
	// ReleaseNotice says on the page of a tank that its release comes up, and what is
	// missing for it.
	ReleaseNotice func(context.Context, *Info, assess.Result) (ui.ReleaseNotice, error)
}

// New returns a kernel, or an error when its texts or assets cannot be read.
// styles are the style sheets of the areas.
func New(o Options, styles ...fs.FS) (*Kernel, error) {
	cat, err := i18n.Load()
	if err != nil {
		return nil, fmt.Errorf("load texts: %w", err)
	}
	as, err := newAssets(styles)
	if err != nil {
		return nil, fmt.Errorf("load assets: %w", err)
	}
	looks := assess.New(o.DB, o.Clock, o.Log)
	k := &Kernel{
		DB: o.DB, Cat: cat, Clock: o.Clock, Log: o.Log, Demo: o.Demo, Replica: o.Replica, TLS: o.TLS, Hosts: map[string]bool{}, Assets: as,
		Computer: o.Computer,
		Tries:    NewLimiter(RememberAccount), PairTries: NewLimiter(rememberPairing), Hashing: make(chan struct{}, 2),
		Turns: newCalcTurns(), Assess: looks, Entries: entries.New(o.DB, looks),
	}
	for _, h := range o.Hosts {
		k.Hosts[h] = true
	}
	k.Sessions = k.newSessions()
	return k, nil
}

// BackupDir is where the daily backups are kept: beside the logbook.
func (s *Kernel) BackupDir() string {
	return filepath.Join(filepath.Dir(s.DB.Path()), store.BackupDir)
}
