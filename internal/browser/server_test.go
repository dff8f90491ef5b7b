package browser

import (
	"context"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"reddside/internal/demo"
	"reddside/internal/logbook"
	"reddside/internal/store"
	"reddside/internal/web"
)

// testNow is 10 February 2026, 09:00 in Halifax, a Tuesday.
var testNow = time.Date(2026, 2, 10, 13, 0, 0, 0, time.UTC)

// site is the whole program on a loopback port, over a logbook of its own.
type site struct {
	t    *testing.T
	db   *store.DB
	opts web.Options
	base string // http://127.0.0.1:port
	now  atomic.Int64
}

func (s *site) clock() time.Time { return time.Unix(s.now.Load(), 0).UTC() }

// lan is the same server under a name on a network.
func (s *site) lan() string { return strings.Replace(s.base, "127.0.0.1", lanName, 1) }

// demoOnce holds a filled logbook to copy from: filling takes longer than copying.
var demoOnce struct {
	sync.Once
	dir string
	err error
}

func demoFolder() (string, error) {
	demoOnce.Do(func() {
		if demoOnce.dir, demoOnce.err = os.MkdirTemp("", "reddside-demo-"); demoOnce.err != nil {
			return
		}
		db, err := store.Open(context.Background(), demoOnce.dir, store.Options{Now: testNow})
		if err == nil {
			err = demo.Fill(context.Background(), db, testNow)
		}
		if db != nil {
			if cerr := db.Close(); err == nil {
				err = cerr
			}
		}
		demoOnce.err = err
	})
	return demoOnce.dir, demoOnce.err
}

func removeDemo() {
	if demoOnce.dir != "" {
		_ = os.RemoveAll(demoOnce.dir)
	}
}

// demoSite serves the invented programme as it stands at testNow.
func demoSite(t *testing.T) *site {
	t.Helper()
	from, err := demoFolder()
	if err != nil {
		t.Fatal("fill the demonstration:", err)
	}
	dir := filepath.Join(t.TempDir(), "data")
	if err := os.CopyFS(dir, os.DirFS(from)); err != nil {
		t.Fatal(err)
	}
	return serve(t, dir, true)
}

// emptySite serves a fresh logbook, as at the first start.
func emptySite(t *testing.T) *site {
	t.Helper()
	return serve(t, t.TempDir(), false)
}

func serve(t *testing.T, dir string, demonstration bool) *site {
	t.Helper()
	s := &site{t: t}
	s.now.Store(testNow.Unix())
	var err error
	if s.db, err = store.Open(context.Background(), dir, store.Options{Now: testNow}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.db.Close() })
	s.opts = web.Options{DB: s.db, Clock: s.clock, Log: slog.New(slog.NewTextHandler(io.Discard, nil)),
		Hosts: []string{lanName}, Demo: demonstration}
	handler, err := web.New(s.opts)
	if err != nil {
		t.Fatal(err)
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s.base = "http://" + ln.Addr().String()
	hs := &http.Server{Handler: handler, ReadHeaderTimeout: 10 * time.Second,
		ErrorLog: slog.NewLogLogger(slog.DiscardHandler, slog.LevelDebug)}
	done := make(chan struct{})
	go func() { defer close(done); _ = hs.Serve(ln) }()
	t.Cleanup(func() { _ = hs.Close(); <-done })
	return s
}

// season is a season of the demonstration, by the name of its tank.
func (s *site) season(tank string, open bool) *logbook.Season {
	s.t.Helper()
	heads, err := s.db.SeasonHeads(context.Background(), store.SeasonFilter{})
	if err != nil {
		s.t.Fatal(err)
	}
	for _, h := range heads {
		if h.Closed == open {
			continue
		}
		got, err := s.db.LoadSeason(context.Background(), h.ID)
		if err != nil {
			s.t.Fatal(err)
		}
		if got.Tank.Name == tank {
			return got
		}
	}
	s.t.Fatalf("the demonstration has no season in tank %q, open %v", tank, open)
	return nil
}

func seasonPath(s *logbook.Season, rest string) string { return "/seasons/" + string(s.ID) + rest }
