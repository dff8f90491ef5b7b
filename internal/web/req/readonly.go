package req

import (
	"net/http"
	"strings"

	"reddside/internal/logbook"
)

// ReadOnly answers every write to a logbook that is open for reading only,
// before anything that was typed is looked at. Signing in, choosing a language
// and calculating change nothing in it.
func (s *Kernel) ReadOnly(next http.Handler) http.Handler {
	if !s.DB.ReadOnly() {
		return next
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch path := r.URL.Path; {
		case r.Method == http.MethodGet, r.Method == http.MethodHead, path == "/sign-in", path == "/sign-out", path == "/demo/sign-in",
			path == "/language", path == "/units", strings.HasPrefix(path, "/api/v1/calc/"):
			next.ServeHTTP(w, r)
		case isAPI(r):
			s.failAPI(w, r, logbook.Errorf(logbook.Unavailable, "error.read_only", nil))
		default:
			s.Refuse(w, r, http.StatusServiceUnavailable, "error.read_only")
		}
	})
}
