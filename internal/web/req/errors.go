package req

import (
	"bytes"
	"errors"
	"fmt"
	"net/http"
	"slices"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5/middleware"

	"reddside/internal/logbook"
	"reddside/internal/web/ui"
)

// statuses maps a kind of error to the status of its answer.
var statuses = map[logbook.Kind]int{
	logbook.Invalid:         http.StatusUnprocessableEntity,
	logbook.NotFound:        http.StatusNotFound,
	logbook.Conflict:        http.StatusConflict,
	logbook.Unauthenticated: http.StatusUnauthorized,
	logbook.Forbidden:       http.StatusForbidden,
	logbook.Unavailable:     http.StatusServiceUnavailable,
	logbook.TooLarge:        http.StatusRequestEntityTooLarge,
}

// statusOf returns the status of an error's answer, 500 for an internal one.
func statusOf(err error) int {
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		return http.StatusRequestEntityTooLarge
	}
	if st, ok := statuses[logbook.KindOf(err)]; ok {
		return st
	}
	return http.StatusInternalServerError
}

// handler is a page handler that leaves errors to its wrapper.
type handler func(w http.ResponseWriter, r *http.Request) error

// Page turns a handler into an http.HandlerFunc that shows errors as pages.
func (s *Kernel) Page(h handler) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		ww := middleware.NewWrapResponseWriter(w, r.ProtoMajor)
		if err := h(ww, r); err != nil {
			s.fail(ww, r, err)
			return
		}
		if err := s.forgetStored(r, ww.Status()); err != nil {
			s.Log.Error("forget kept entry", "id", Of(r).ID, "err", err) // the entry is stored
		}
	}
}

// fail shows an error as a page. The text of an internal error goes to the log
// only; the person sees its reference number.
func (s *Kernel) fail(w http.ResponseWriter, r *http.Request, err error) {
	v := Of(r)
	status := statusOf(err)
	if status == http.StatusUnauthorized {
		if SentByScript(r) {
			// The device keeps the entry, or sends it again as a plain form.
			w.WriteHeader(status)
			return
		}
		s.askSignIn(w, r)
		return
	}
	text, kept, ref := "", "", ""
	var e *logbook.Error
	switch {
	case status == http.StatusRequestEntityTooLarge:
		text = v.P.T("error.too_large", logbook.Args{"Max": MaxSize(r)})
	case status == http.StatusInternalServerError || !errors.As(err, &e):
		s.Log.Error("request failed", "id", v.ID, "err", err)
		text, ref = v.P.T("error.500"), v.ID
	case e.Key == "error.disk_full" && isRead(r):
		text = v.P.T("error.disk_full.read")
	default:
		text = v.P.T(e.Key, e.Args)
		if e.Key == "error.entry" && len(e.Problems) > 0 {
			text = v.P.T(e.Problems[0].Key, e.Problems[0].Args)
		}
	}
	if r.Method == http.MethodPost && status >= 500 {
		kept = v.P.T("error.500.kept")
	}
	p := s.NewPage(r, fmt.Sprintf("error.title.%d", status), "")
	if rerr := s.Render(w, r, status, ui.ErrorPage(p, text, kept, ref)); rerr != nil {
		s.Log.Error("error page failed", "id", v.ID, "err", rerr)
		plainFailure(w, v.ID)
	}
}

// isRead reports whether a request changes nothing.
func isRead(r *http.Request) bool { return r.Method == http.MethodGet || r.Method == http.MethodHead }

// Render writes a page, buffered so that an error leaves no half page behind.
func (s *Kernel) Render(w http.ResponseWriter, r *http.Request, status int, c templ.Component) error {
	var b bytes.Buffer
	if err := c.Render(r.Context(), &b); err != nil {
		return fmt.Errorf("render: %w", err)
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	if h.Get("Cache-Control") == "" {
		h.Set("Cache-Control", "no-store")
	}
	w.WriteHeader(status)
	_, err := w.Write(b.Bytes())
	if err != nil {
		s.Log.Debug("client went away", "err", err)
	}
	return nil
}

func (s *Kernel) NotFound(http.ResponseWriter, *http.Request) error { return logbook.Missing("page") }

// IsStale reports whether a write was refused because somebody changed the row
// after the form was opened.
func IsStale(err error) bool {
	var e *logbook.Error
	return errors.As(err, &e) && e.Key == "error.stale"
}

// StatusWith is the status of a form that is shown again with problems.
func StatusWith(problems []logbook.Problem) int {
	if slices.ContainsFunc(problems, func(x logbook.Problem) bool { return x.Key == "error.stale" }) {
		return http.StatusConflict
	}
	return http.StatusUnprocessableEntity
}
