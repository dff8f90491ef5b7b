package req

import (
	"encoding/json"
	"fmt"
	"net/http"

	"github.com/go-chi/chi/v5"

	"reddside/internal/logbook"
)

// API turns a handler into an http.HandlerFunc that answers errors as problem
// documents.
func (s *Kernel) API(h handler) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if err := h(w, r); err != nil {
			s.failAPI(w, r, err)
		}
	}
}

// WriteJSON answers with a value. It is encoded before the status is sent, so
// that a value that JSON cannot hold is an error and not half an answer.
func WriteJSON(w http.ResponseWriter, status int, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("encode answer: %w", err)
	}
	h := w.Header()
	h.Set("Content-Type", "application/json; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_, _ = w.Write(append(b, '\n')) // a client that went away is no error of ours
	return nil
}

// URLID is an id of the address.
func URLID(r *http.Request, name string) logbook.ID { return logbook.ID(chi.URLParam(r, name)) }
