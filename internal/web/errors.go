package web

import (
	"bytes"
	"errors"
	"fmt"
	"net/http"

	"github.com/a-h/templ"

	"reddside/internal/logbook"
	"reddside/internal/web/view"
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

// page turns a handler into an http.HandlerFunc that shows errors as pages.
func (s *Server) page(h handler) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if err := h(w, r); err != nil {
			s.fail(w, r, err)
		}
	}
}

// fail shows an error as a page. The text of an internal error goes to the log
// only; the person sees its reference number.
func (s *Server) fail(w http.ResponseWriter, r *http.Request, err error) {
	v := visitOf(r)
	status := statusOf(err)
	if status == http.StatusUnauthorized {
		if sentByScript(r) {
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
		text = v.p.T("error.too_large", logbook.Args{"Max": maxSize(r)})
	case status == http.StatusInternalServerError || !errors.As(err, &e):
		s.log.Error("request failed", "id", v.id, "err", err)
		text, ref = v.p.T("error.500"), v.id
	case e.Key == "error.disk_full" && isRead(r):
		text = v.p.T("error.disk_full.read")
	default:
		text = v.p.T(e.Key, e.Args)
		if e.Key == "error.entry" && len(e.Problems) > 0 {
			text = v.p.T(e.Problems[0].Key, e.Problems[0].Args)
		}
	}
	if r.Method == http.MethodPost && status >= 500 {
		kept = v.p.T("error.500.kept")
	}
	p := s.newPage(r, fmt.Sprintf("error.title.%d", status), "")
	if rerr := s.render(w, r, status, view.ErrorPage(p, text, kept, ref)); rerr != nil {
		s.log.Error("error page failed", "id", v.id, "err", rerr)
		http.Error(w, "Reddside could not answer. Reference: "+v.id, http.StatusInternalServerError)
	}
}

// isRead reports whether a request changes nothing.
func isRead(r *http.Request) bool { return r.Method == http.MethodGet || r.Method == http.MethodHead }

// render writes a page, buffered so that an error leaves no half page behind.
func (s *Server) render(w http.ResponseWriter, r *http.Request, status int, c templ.Component) error {
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
		s.log.Debug("client went away", "err", err)
	}
	return nil
}
