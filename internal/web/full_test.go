package web

import (
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"testing"

	"reddside/internal/store"
)

// Where nothing can be stored, pages are read on, health says what cannot be
// done, and an entry is refused.
func TestReadingGoesOnWithoutWriting(t *testing.T) {
	ts := newTestServer(t)
	ts.quietSeason(ts.one)
	ts.as(noActor).get("/healthz").want(t, 200, "ok")
	ro, err := store.Open(t.Context(), filepath.Dir(ts.DB.Path()), store.Options{Now: testNow, ReadOnly: true})
	ts.must(err)
	t.Cleanup(func() { _ = ro.Close() })
	ts.Server, err = New(Options{DB: ro, Clock: ts.clockAt, Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
	ts.must(err)
	b := ts.as(ts.keeper)
	for _, path := range []string{"/board", "/morning", pathOf(ts.one), pathOf(ts.one) + "/forecast", pathOf(ts.one) +
		"/checks/new"} {
		b.get(path).want(t, 200)
	}
	b.post(pathOf(ts.one)+"/checks", fields("on", "2026-02-10", "slot", "morning", "temperature", "7", "chiller",
		"running", "filter", "running",
		"water", "clear", "key", "k")).want(t, 503)
	ts.as(noActor).get("/healthz").want(t, 503, "not ready to write")
}

// A logbook file deleted under the server is noticed before an entry is
// acknowledged.
func TestDeletedFileTakesNoEntry(t *testing.T) {
	ts := newTestServer(t)
	ts.quietSeason(ts.one)
	c := ts.program(ts.keeper)
	if err := os.Remove(ts.DB.Path()); err != nil {
		t.Skip("the system holds open files in place:", err)
	}
	c.post("/seasons/"+string(ts.one.ID)+"/checks", morningCheck).wantProblem(t, 503, "", "error.file_gone")
	ts.as(noActor).get("/healthz").want(t, 503, "not ready to write")
}
