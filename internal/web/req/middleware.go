package req

import (
	"context"
	"crypto/rand"
	"io"
	"log/slog"
	"net"
	"net/http"
	"runtime/debug"
	"strings"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"reddside/internal/logbook"
	"reddside/internal/store"
)

// Body limits. Everything but a logger file is small.
const (
	maxBody   = 256 << 10
	MaxUpload = 20 << 20
	maxCalc   = 64 << 10 // of a calculator, which needs no sign-in
)

func isUpload(r *http.Request) bool {
	return strings.HasSuffix(r.URL.Path, "/import") || strings.HasSuffix(r.URL.Path, "/readings") ||
		strings.HasSuffix(r.URL.Path, "/photos")
}

// isMove reports whether a whole logbook of another computer is sent.
func isMove(r *http.Request) bool { return r.URL.Path == "/setup/file" }

func isCalc(r *http.Request) bool { return strings.HasPrefix(r.URL.Path, "/api/v1/calc/") }

func MaxSize(r *http.Request) string {
	switch {
	case isMove(r):
		return "2 GB"
	case isUpload(r):
		return "20 MB"
	case isCalc(r):
		return "64 kB"
	}
	return "256 kB"
}

// ContentSecurity lets a page load from this host alone and run no inline code.
const ContentSecurity = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; " +
	"connect-src 'self'; form-action 'self'; base-uri 'none'; object-src 'none'; frame-ancestors 'none'"

// Frame is the outermost layer: reference number, log line, panics, headers.
func (s *Kernel) Frame(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		start := s.Clock()
		v := &Info{ID: rand.Text()[:10], Now: start}
		v.P = s.Cat.Printer(s.Cat.Match(r.Header.Get("Accept-Language")), "Cel")
		r = With(r, v)
		h := w.Header()
		h.Set("Content-Security-Policy", ContentSecurity)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY") // for browsers older than frame-ancestors
		// "no-referrer" would make browsers send Origin: null on plain http and
		// lock out our own forms.
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		if s.TLS {
			// Over plain http browsers ignore it, with an error on the console.
			h.Set("Cross-Origin-Opener-Policy", "same-origin")
			h.Set("Strict-Transport-Security", "max-age=31536000")
		}
		ww := middleware.NewWrapResponseWriter(w, r.ProtoMajor)
		defer func() {
			if x := recover(); x != nil {
				if x == http.ErrAbortHandler {
					panic(x)
				}
				s.answerPanic(ww, r, x)
			}
			s.Log.LogAttrs(r.Context(), slog.LevelInfo, "request",
				slog.String("id", v.ID), slog.String("method", r.Method), slog.String("route", routePattern(r)),
				slog.Int("status", ww.Status()), slog.Int("bytes", ww.BytesWritten()),
				slog.Duration("took", time.Since(start)),
				slog.String("role", string(v.Actor.Role)))
		}()
		next.ServeHTTP(ww, r)
	})
}

// answerPanic logs a panic and shows the reader its reference number.
func (s *Kernel) answerPanic(w middleware.WrapResponseWriter, r *http.Request, x any) {
	v := Of(r)
	s.Log.Error("panic", "id", v.ID, "value", x, "stack", string(debug.Stack()))
	if w.Status() != 0 {
		return // the answer is on its way
	}
	// What made the page impossible may do the same to the page of the error.
	defer func() {
		if again := recover(); again != nil {
			s.Log.Error("panic of the error page", "id", v.ID, "value", again, "stack", string(debug.Stack()))
			if w.Status() == 0 {
				plainFailure(w, v.ID)
			}
		}
	}()
	s.failAny(w, r, logbook.Errorf(logbook.Internal, "panic", nil))
}

// plainFailure tells of an internal error where no page can be made.
func plainFailure(w http.ResponseWriter, ref string) {
	http.Error(w, "Reddside could not answer. Reference: "+ref, http.StatusInternalServerError)
}

// routePattern keeps ids out of the log.
func routePattern(r *http.Request) string {
	if c := chi.RouteContext(r.Context()); c != nil && c.RoutePattern() != "" {
		return c.RoutePattern()
	}
	return "unmatched"
}

// KnownHost refuses requests under a name that is not ours with 421.
func (s *Kernel) KnownHost(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !s.hostKnown(r.Host) {
			s.Refuse(w, r, http.StatusMisdirectedRequest, "error.host")
			return
		}
		next.ServeHTTP(w, r)
	})
}

func (s *Kernel) hostKnown(hostport string) bool {
	host := hostport
	if h, _, err := net.SplitHostPort(hostport); err == nil {
		host = h
	}
	host = strings.ToLower(strings.Trim(host, "[]"))
	if host == "localhost" || s.Hosts[host] || s.Network.named(host) {
		return true
	}
	ip := net.ParseIP(host)
	return ip != nil && (ip.IsLoopback() || s.Network.has(ip, s.Clock()))
}

// SameOrigin refuses state changes that another web site's page sends. A bearer
// token is never sent by a browser on its own, so such requests pass.
func (s *Kernel) SameOrigin(next http.Handler) http.Handler {
	guard := http.NewCrossOriginProtection()
	guard.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.Refuse(w, r, http.StatusForbidden, "error.origin")
	}))
	checked := guard.Handler(next)
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if strings.HasPrefix(r.Header.Get("Authorization"), "Bearer ") {
			next.ServeHTTP(w, r)
			return
		}
		checked.ServeHTTP(w, r)
	})
}

// LimitBody bounds what a request may send.
func (s *Kernel) LimitBody(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		limit := int64(maxBody)
		switch {
		case isMove(r):
			limit = store.MaxMove
		case isUpload(r):
			limit = MaxUpload + 64<<10
		case isCalc(r):
			limit = maxCalc
		}
		if r.ContentLength > limit {
			s.Refuse(w, r, http.StatusRequestEntityTooLarge, "error.too_large")
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, limit)
		next.ServeHTTP(w, r)
	})
}

// OneView makes what a request reads one transaction, and gives it up while the
// network is waited for: somebody with a slow line holds nobody up.
func (s *Kernel) OneView(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		ctx, done := s.DB.Snapshot(r.Context())
		defer done()
		r = r.WithContext(ctx)
		if r.Body != nil && r.Body != http.NoBody {
			r.Body = &patientBody{r.Body, ctx}
		}
		next.ServeHTTP(&patientWriter{w, ctx}, r)
	})
}

type patientBody struct {
	io.ReadCloser
	ctx context.Context
}

func (b *patientBody) Read(p []byte) (int, error) {
	store.Pause(b.ctx)
	return b.ReadCloser.Read(p)
}

type patientWriter struct {
	http.ResponseWriter
	ctx context.Context
}

func (w *patientWriter) Write(p []byte) (int, error) {
	store.Pause(w.ctx)
	return w.ResponseWriter.Write(p)
}

// Unwrap serves http.ResponseController.
func (w *patientWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }

// Refuse answers with a status and a message before any handler runs.
func (s *Kernel) Refuse(w http.ResponseWriter, r *http.Request, status int, key string) {
	v := Of(r)
	args := logbook.Args{"Max": MaxSize(r)}
	if isAPI(r) {
		writeProblem(w, r, status, key, v.P.T(key, args), nil)
		return
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write([]byte(v.P.T(key, args) + "\n"))
}

func isAPI(r *http.Request) bool { return strings.HasPrefix(r.URL.Path, "/api/") }

// Need lets a request pass when the actor has one of the roles.
func (s *Kernel) Need(roles ...logbook.Role) func(http.Handler) http.Handler {
	return func(next http.Handler) http.Handler {
		return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			v := Of(r)
			if !v.SignedIn() {
				s.failAny(w, r, logbook.Errorf(logbook.Unauthenticated, "sign_in.title", nil))
				return
			}
			for _, role := range roles {
				if v.Actor.Role == role {
					next.ServeHTTP(w, r)
					return
				}
			}
			s.failAny(w, r, logbook.Errorf(logbook.Forbidden, "error.not_allowed", nil))
		})
	}
}

// failAny answers an error in the form the request wants.
func (s *Kernel) failAny(w http.ResponseWriter, r *http.Request, err error) {
	if isAPI(r) {
		s.failAPI(w, r, err)
		return
	}
	s.fail(w, r, err)
}

// ReadOnly answers every write to a logbook that is open for reading only,
// before anything that was typed is looked at. Signing in, choosing a language
// and calculating change nothing in it.
func (s *Kernel) ReadOnly(next http.Handler) http.Handler {
	if !s.DB.ReadOnly() {
		return next
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch path := r.URL.Path; {
		case r.Method == http.MethodGet, r.Method == http.MethodHead, path == "/sign-in", path == "/sign-out",
			path == "/demo/sign-in",
			path == "/language", path == "/units", strings.HasPrefix(path, "/api/v1/calc/"):
			next.ServeHTTP(w, r)
		case isAPI(r):
			s.failAPI(w, r, logbook.Errorf(logbook.Unavailable, "error.read_only", nil))
		default:
			s.Refuse(w, r, http.StatusServiceUnavailable, "error.read_only")
		}
	})
}
