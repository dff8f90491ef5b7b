// Package replica keeps a copy of the logbook off this disk, all the time: what
// is stored is there a second later. The engine is litestream, as a library; the
// copy is a folder (a stick, a network share) or lies on an SFTP server.
package replica

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"time"

	"github.com/benbjohnson/litestream"

	"reddside/internal/store"
)

// Times of a replica; local choices.
const (
	sendEvery = 300 * time.Millisecond
	lookEvery = 2 * time.Second     // at whether the copy has caught up
	retry     = 30 * time.Second    // of a place that could not be reached
	keep      = 14 * 24 * time.Hour // how far back a restore can go
	lastWord  = 10 * time.Second    // for what is not copied yet when the server stops
	proofLife = 7 * 24 * time.Hour  // after which a copy is proven again
	// Late is how far a copy may be behind before somebody is told.
	Late = time.Hour
)

// State is how a copy stands.
type State struct {
	Place    string
	Since    time.Time // of the start
	InStepAt time.Time // when it last held everything; zero when it never did since the start
	Err      string    // what hinders it, "" for nothing
	Proof    Proof     // the last one; its At is zero when there is none
}

// Behind is for how long the copy has not held everything.
func (s State) Behind(now time.Time) time.Duration {
	from := s.InStepAt
	if from.IsZero() {
		from = s.Since
	}
	return max(0, now.Sub(from))
}

// Proof is the answer of a drill: the copy was restored and compared.
type Proof struct {
	At      time.Time
	Took    time.Duration
	Changes int64 // that the restored logbook holds
	Rows    int64
	Err     string // "" when all agreed
}

// Replica copies one logbook to one place until it is closed.
type Replica struct {
	db    *store.DB
	place Place
	log   *slog.Logger
	clock func() time.Time

	mu    sync.Mutex
	state State
	ls    *litestream.DB // nil while the place cannot be reached

	proving sync.Mutex
	stop    context.CancelFunc
	done    chan struct{}
}

// Start copies db, which must have been opened as Replicated, to a place. A place
// that cannot be reached is tried again and again: State says so.
func Start(db *store.DB, place Place, log *slog.Logger, clock func() time.Time) *Replica {
	ctx, stop := context.WithCancel(context.Background())
	r := &Replica{db: db, place: place, log: log, clock: clock, stop: stop, done: make(chan struct{})}
	r.state = State{Place: place.String(), Since: clock()}
	go r.run(ctx)
	return r
}

// State says how the copy stands.
func (r *Replica) State() State {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.state
}

// Close copies what is not copied yet, for which it takes some seconds at most,
// and ends. The logbook is closed after it.
func (r *Replica) Close() {
	r.stop()
	<-r.done
}

func (r *Replica) run(ctx context.Context) {
	defer close(r.done)
	for {
		end, err := r.open(ctx)
		if err == nil {
			r.watch(ctx)
			end()
			return
		}
		r.note(err)
		select {
		case <-ctx.Done():
			return
		case <-time.After(retry):
		}
	}
}

// open starts the engine; end stops it.
func (r *Replica) open(ctx context.Context) (end func(), err error) {
	client, err := r.place.open(true)
	if err != nil {
		return nil, err
	}
	log := slog.New(quiet{r.log.Handler()})
	ls := litestream.NewDB(r.db.Path())
	ls.SetMetaPath(filepath.Join(filepath.Dir(r.db.Path()), "replica"))
	ls.Replica = litestream.NewReplicaWithClient(ls, client)
	ls.MonitorInterval, ls.Replica.SyncInterval = sendEvery, sendEvery
	if f, ok := client.(*folder); ok {
		f.Replica = ls.Replica
	}
	levels := litestream.CompactionLevels{{Level: 0}, {Level: 1, Interval: 30 * time.Second},
		{Level: 2, Interval: 5 * time.Minute}, {Level: 3, Interval: time.Hour}}
	s := litestream.NewStore([]*litestream.DB{ls}, levels)
	s.Logger, s.SnapshotRetention = log, keep
	ls.SetLogger(log)
	ls.ShutdownSyncTimeout = lastWord
	if err := s.Open(ctx); err != nil {
		return nil, errors.Join(err, s.Close(context.WithoutCancel(ctx)))
	}
	r.mu.Lock()
	r.ls = ls
	r.mu.Unlock()
	return func() {
		ctx, cancel := context.WithTimeout(context.Background(), lastWord)
		defer cancel()
		if err := s.Close(ctx); err != nil {
			r.log.Warn("the copy may lack what was stored last", "err", err)
		}
	}, nil
}

// watch looks at the copy until ctx ends, and proves it weekly.
func (r *Replica) watch(ctx context.Context) {
	tick := time.NewTicker(lookEvery)
	defer tick.Stop()
	for {
		r.look(ctx)
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		if s := r.State(); !s.InStepAt.IsZero() && r.clock().Sub(s.Proof.At) > proofLife {
			_, _ = r.Prove(ctx) // its state says what came of it
		}
	}
}

func (r *Replica) look(ctx context.Context) {
	at := r.clock()
	ctx, cancel := context.WithTimeout(ctx, retry)
	defer cancel()
	s, err := r.ls.SyncStatus(ctx)
	switch {
	case err != nil:
		r.note(err)
	case s.InSync:
		r.mu.Lock()
		r.state.InStepAt, r.state.Err = at, ""
		r.mu.Unlock()
	}
}

func (r *Replica) note(err error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.state.Err != err.Error() {
		r.log.Warn("the copy elsewhere is not kept", "place", r.state.Place, "err", err)
	}
	r.state.Err = err.Error()
}

// drills is how often a drill begins again because somebody wrote meanwhile.
const drills = 5

// Prove restores the copy beside the logbook, checks it whole, and compares every
// table with the logbook.
func (r *Replica) Prove(ctx context.Context) (Proof, error) {
	r.proving.Lock()
	defer r.proving.Unlock()
	began := r.clock()
	p, err := r.drill(ctx)
	p.At, p.Took = r.clock(), r.clock().Sub(began)
	if err != nil {
		p.Err = err.Error()
	}
	r.mu.Lock()
	r.state.Proof = p
	r.mu.Unlock()
	return p, err
}

func (r *Replica) drill(ctx context.Context) (p Proof, err error) {
	r.mu.Lock()
	ls := r.ls
	r.mu.Unlock()
	if ls == nil {
		return p, fmt.Errorf("%s cannot be reached", r.place)
	}
	dir, err := os.MkdirTemp(filepath.Dir(r.db.Path()), "replica-drill-")
	if err != nil {
		return p, err
	}
	defer os.RemoveAll(dir)
	for range drills {
		have, err := r.db.Totals(ctx)
		if err != nil {
			return p, err
		}
		if err := ls.SyncAndWait(ctx); err != nil {
			return p, err
		}
		path := filepath.Join(dir, store.FileName)
		if err := restoreFile(ctx, r.place, time.Time{}, path); err != nil {
			return p, err
		}
		got, err := store.FileTotals(ctx, path)
		if err != nil {
			return p, err
		}
		if err := os.Remove(path); err != nil {
			return p, err
		}
		p.Changes, p.Rows = got.Changes, 0
		for _, n := range got.Rows {
			p.Rows += n
		}
		if got.Changes < have.Changes {
			return p, fmt.Errorf("the copy lacks %d changes", have.Changes-got.Changes)
		}
		if got.Changes == have.Changes {
			return p, same(have, got)
		}
	}
	return p, errors.New("somebody was writing all the time; try again later")
}

// same compares the rows of each table.
func same(have, got store.Totals) error {
	for table, n := range have.Rows {
		if got.Rows[table] != n {
			return fmt.Errorf("table %s has %d rows in the copy and %d here", table, got.Rows[table], n)
		}
	}
	return nil
}

// Restore puts the copy of a place, as it was at a time (zero for the newest
// state), in the place of the logbook in folder dir: see store.Restore.
func Restore(ctx context.Context, place Place, at time.Time, dir string, now time.Time) (kept string, err error) {
	tmp, err := os.MkdirTemp("", "reddside-restore-")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(tmp)
	path := filepath.Join(tmp, store.FileName)
	if err := restoreFile(ctx, place, at, path); err != nil {
		return "", err
	}
	return store.Restore(ctx, path, dir, now)
}

func restoreFile(ctx context.Context, place Place, at time.Time, path string) error {
	client, err := place.open(false)
	if err != nil {
		return err
	}
	if err := client.Init(ctx); err != nil {
		return fmt.Errorf("%s cannot be reached: %w", place, err)
	}
	rep := litestream.NewReplicaWithClient(nil, client)
	o := litestream.NewRestoreOptions()
	o.OutputPath, o.Timestamp = path, at
	err = rep.Restore(ctx, o)
	switch {
	case errors.Is(err, litestream.ErrTxNotAvailable), errors.Is(err, litestream.ErrNoSnapshots):
		if at.IsZero() {
			return fmt.Errorf("%s holds no copy", place)
		}
		return fmt.Errorf("%s holds no copy of %s; it goes back %d days at most", place, at.Format(time.RFC3339),
			int(keep.Hours()/24))
	case err != nil:
		return fmt.Errorf("the copy at %s cannot be restored: %w", place, err)
	}
	return nil
}

// quiet passes on what the engine warns of; the rest is of each second.
type quiet struct{ slog.Handler }

func (q quiet) Enabled(ctx context.Context, l slog.Level) bool {
	return l >= slog.LevelWarn && q.Handler.Enabled(ctx, l)
}
