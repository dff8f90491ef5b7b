package web

import (
	"database/sql"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// Days that were stored before years were bounded make no large page and no slow one.
func TestFarDaysMakeNoLargePage(t *testing.T) {
	f := newFullServer(t)
	size := func() map[string]int {
		out := map[string]int{}
		b := f.as(f.coordinator)
		f.must(chi.Walk(f.Handler.(chi.Routes), func(method, route string, _ http.Handler,
			_ ...func(http.Handler) http.Handler) error {
			if method != http.MethodGet || strings.Contains(route, "*") || strings.HasPrefix(route, "/static") {
				return nil
			}
			path := route
			for name, id := range f.ids {
				path = strings.ReplaceAll(path, "{"+name+"}", id)
			}
			if strings.Contains(path, "{") {
				return nil
			}
			start := time.Now()
			out[path] = len(b.get(path).Body)
			if took := time.Since(start); took > 3*time.Second {
				t.Errorf("%s took %v", path, took)
			}
			return nil
		}))
		return out
	}
	before := size()
	db, err := sql.Open("sqlite", "file:"+f.DB.Path())
	f.must(err)
	defer db.Close()
	_, err = f.DB.CreateClosedSpan(t.Context(), f.keeper, f.alder.ID, logbook.ClosedSpan{From: testToday,
		To: testToday.AddDays(3), Reason: "holiday"},
		testNow, store.IdempotencyKey{})
	f.must(err)
	var after map[string]int
	for _, q := range []string{
		"UPDATE season SET release_from_on = '2026-05-01', release_by_on = '9999-12-31', edits = edits + 1, revision = revision + 1",
		"UPDATE season SET release_from_on = '9999-05-01', edits = edits + 1, revision = revision + 1",
		"UPDATE closed_span SET to_on = '9999-12-31', revision = revision + 1, reason = 'x'",
	} {
		done, err := db.Exec(q)
		f.must(err)
		if n, _ := done.RowsAffected(); n == 0 {
			t.Errorf("nothing changed by %s", q)
		}
		f.restart()
		after = size()
		for path, n := range after {
			if n > 2<<20 || n > before[path]+200<<10 {
				t.Errorf("%s: %d bytes, before %d, after %s", path, n, before[path], q)
			}
		}
	}
	if len(after) < 60 {
		t.Errorf("only %d pages looked at", len(after))
	}
}
