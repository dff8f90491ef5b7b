package web

import (
	"context"
	"crypto/sha256"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"reddside/internal/demo"
	"reddside/internal/logbook"
	"reddside/internal/store"
)

// folder describes the files of a folder by their contents and times.
func folder(t *testing.T, dir string) map[string]any {
	t.Helper()
	type file struct {
		sum [32]byte
		at  time.Time
	}
	out := map[string]any{}
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range list {
		b, err := os.ReadFile(filepath.Join(dir, e.Name()))
		st, serr := e.Info()
		if err != nil || serr != nil {
			t.Fatal(err, serr)
		}
		out[e.Name()] = file{sha256.Sum256(b), st.ModTime()}
	}
	return out
}

// A logbook shown read-only answers every page that its links lead to, refuses
// every write with the same clear words, and leaves its folder as it was.
func TestReadOnly(t *testing.T) {
	ctx, dir := context.Background(), t.TempDir()
	db, err := store.Open(ctx, dir, store.Options{Now: testNow})
	if err != nil {
		t.Fatal(err)
	}
	if err := demo.Fill(ctx, db, testNow); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	before := folder(t, dir)
	if db, err = store.Open(ctx, dir, store.Options{ReadOnly: true}); err != nil {
		t.Fatal(err)
	}
	ts := &testServer{t: t}
	ts.at(testNow)
	ts.Server, err = New(Options{DB: db, Clock: ts.clockAt, Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
	ts.must(err)
	ts.Background(ctx) // ends at once
	boss := ts.as(logbook.Actor{Role: logbook.Coordinator, Label: "Coordinator"})
	if n := linkWalk(t, boss); n < 20 {
		t.Errorf("only %d pages were reached", n)
	}
	writes, free := 0, map[string]bool{"/sign-in": true, "/sign-out": true, "/demo/sign-in": true, "/language": true,
		"/units": true}
	walkRoutes(t, ts.Server, func(method, route string) {
		if method == http.MethodGet || method == http.MethodHead || free[route] || strings.Contains(route, "/calc/") ||
			strings.Contains(route, "*") {
			return
		}
		writes++
		r := httptest.NewRequest(method, strings.NewReplacer("{", "", "}", "").Replace(route), strings.NewReader("{}"))
		r.Host = "localhost"
		w := httptest.NewRecorder()
		ts.ServeHTTP(w, r)
		if w.Code != http.StatusServiceUnavailable || !strings.Contains(w.Body.String(), "open for reading only") {
			t.Errorf("%s %s: %d %s", method, route, w.Code, w.Body.String())
		}
	})
	if writes < 80 {
		t.Errorf("%d writes were tried", writes)
	}
	ts.must(db.Close())
	if after := folder(t, dir); !reflect.DeepEqual(before, after) {
		t.Errorf("the folder changed: %v, then %v", before, after)
	}
	t.Logf("%d writes refused", writes)
}
