package web

import (
	"log/slog"
	"os"
	"path/filepath"
	"testing"
	"time"

	"reddside/internal/replica"
)

// The coordinator sees where the logbook lies a second time and can try it; a copy
// that does not stand the drill, or is an hour behind, is flagged on the board.
func TestCopiesPage(t *testing.T) {
	ts := newTestServer(t)
	ts.quietSeason(ts.one)
	boss := ts.as(ts.coordinator)
	boss.get("/copies").want(t, 200, "No copy is kept elsewhere")
	boss.post("/copies/prove", fields()).want(t, 409, "Start the server with -replica")
	dir := t.TempDir()
	place, err := replica.ParsePlace(dir)
	ts.must(err)
	now := testNow
	ts.Replica = replica.Start(ts.DB, place, slog.New(slog.DiscardHandler), func() time.Time { return now })
	t.Cleanup(ts.Replica.Close)
	for end := time.Now().Add(20 * time.Second); ts.Replica.State().InStepAt.IsZero(); time.Sleep(50 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("no copy after 20 s: " + ts.Replica.State().Err)
		}
	}
	boss.get("/copies").want(t, 200, "The copy holds everything", dir)
	boss.post("/copies/prove", fields()).want(t, 303)
	boss.get("/copies").want(t, 200, "Restored and compared", "all the same")
	boss.get("/board").want(t, 200).lacks(t, "The copy at")

	// The folder goes: nothing can be proven, and both the page and the board say so.
	ts.must(os.Rename(dir, filepath.Join(t.TempDir(), "away")))
	boss.post("/copies/prove", fields()).want(t, 303)
	boss.get("/copies").want(t, 200, "failed", "is not there")
	boss.get("/board").want(t, 200, "The copy at "+dir+" could not be restored")
}
