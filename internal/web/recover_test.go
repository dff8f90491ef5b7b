package web

import (
	"bytes"
	"database/sql"
	"fmt"
	"log/slog"
	"net/http"
	"strings"
	"sync"
	"testing"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
)

// A panic shows who is signed in a page with a reference, which stands in the log
// beside the line of the request; the notice that waits is not lost.
func TestPanicIsAnswered(t *testing.T) {
	ts := newTestServer(t)
	var log lockedBuffer
	ts.Log = slog.New(slog.NewTextHandler(&log, nil))
	pages, ok := ts.Pages.(*chi.Mux)
	if !ok {
		t.Fatalf("pages are a %T", ts.Pages)
	}
	pages.Get("/panics", ts.Page(func(_ http.ResponseWriter, r *http.Request) error {
		ts.SetNotice(r, "lost")
		panic("a test of panics")
	}))
	for _, a := range []logbook.Actor{ts.coordinator, ts.keeper, ts.class, noActor} {
		log.Reset()
		p := ts.as(a).get("/panics").want(t, 500, "could not", "<main").lacks(t, "a test of panics", "goroutine")
		said := log.String()
		_, id, _ := strings.Cut(said, "id=")
		id, _, _ = strings.Cut(id, " ")
		for _, line := range []string{`msg=panic id=` + id, `value="a test of panics"`, "msg=request id=" + id +
			" method=GET route=/panics status=500"} {
			if !strings.Contains(said, line) {
				t.Errorf("%s: the log has no %s:\n%s", a.Role, line, said)
			}
		}
		if id == "" || !strings.Contains(p.Body, id) {
			t.Errorf("%s: the page has no reference %q: %s", a.Role, id, plainText(p.Body))
		}
	}
}

// lockedBuffer is a buffer that a log may be written to by several requests.
type lockedBuffer struct {
	mu sync.Mutex
	bytes.Buffer
}

func (b *lockedBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.Buffer.Write(p)
}

// The flags of a season that cannot be stored stop those of no other.
func TestFlagsGoOnPastAFailure(t *testing.T) {
	ts := newTestServer(t)
	db, err := sql.Open("sqlite", "file:"+ts.DB.Path())
	ts.must(err)
	defer db.Close()
	_, err = db.Exec(fmt.Sprintf(`CREATE TRIGGER broken BEFORE INSERT ON flag
		WHEN NEW.season_num = (SELECT num FROM season WHERE id = '%s') BEGIN SELECT RAISE(ABORT, 'broken'); END`, ts.one.ID))
	ts.must(err)
	err = ts.Assess.SyncAllFlags(t.Context())
	if err == nil || !strings.Contains(err.Error(), string(ts.one.ID)) {
		t.Errorf("the season is not named: %v", err)
	}
	for _, s := range []*logbook.Season{ts.two, ts.far} {
		flags, err := ts.DB.Flags(t.Context(), s.ID, false)
		ts.must(err)
		if len(flags) == 0 {
			t.Errorf("%s has no flags", s.Tank.Name)
		}
	}
}
