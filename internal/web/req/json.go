package req

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"

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

// problem is an error of the JSON interface: application/problem+json of
// RFC 9457 with the list of fields as extension.
type problem struct {
	Type     string         `json:"type"`
	Title    string         `json:"title"`
	Status   int            `json:"status"`
	Detail   string         `json:"detail,omitempty"`
	Instance string         `json:"instance,omitempty"`
	Code     string         `json:"code"`
	Errors   []fieldProblem `json:"errors,omitempty"`
	// Current is the stored row that an edit or a create ran into.
	Current any `json:"current,omitempty"`
}

type fieldProblem struct {
	Field   string `json:"field"`
	Message string `json:"message"`
	Code    string `json:"code"`
	// Confirm is true when the value is only surprising: send the field's name
	// in "confirm" to store it.
	Confirm bool `json:"confirm,omitempty"`
	// Options are the answers to choose from when a logger file asks.
	Options []string `json:"options,omitempty"`
}

// apiStatuses are answers that a program tells apart and a page does not.
var apiStatuses = map[string]int{
	"error.stale":  http.StatusPreconditionFailed,
	"api.if_match": http.StatusPreconditionRequired,
	"api.not_json": http.StatusBadRequest,
}

func writeProblem(w http.ResponseWriter, r *http.Request, status int, code, detail string, fields []fieldProblem) {
	sendProblem(w, r, problem{Status: status, Detail: detail, Code: code, Errors: fields})
}

func sendProblem(w http.ResponseWriter, r *http.Request, p problem) {
	p.Type, p.Title, p.Instance = "about:blank", http.StatusText(p.Status), Of(r).ID
	h := w.Header()
	h.Set("Content-Type", "application/problem+json; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	h.Del("ETag")
	if p.Status == http.StatusUnauthorized {
		h.Set("WWW-Authenticate", `Bearer realm="Reddside"`)
	}
	w.WriteHeader(p.Status)
	_ = json.NewEncoder(w).Encode(p)
}

// failAPI answers an error as a problem document.
func (s *Kernel) failAPI(w http.ResponseWriter, r *http.Request, err error) {
	v := Of(r)
	status := statusOf(err)
	var e *logbook.Error
	switch {
	case status == http.StatusRequestEntityTooLarge:
		writeProblem(w, r, status, "error.too_large", v.P.T("error.too_large", logbook.Args{"Max": MaxSize(r)}), nil)
	case status == http.StatusInternalServerError || !errors.As(err, &e):
		s.Log.Error("request failed", "id", v.ID, "err", err)
		writeProblem(w, r, http.StatusInternalServerError, "error.500", v.P.T("error.500"), nil)
	default:
		if st := apiStatuses[e.Key]; st != 0 {
			status = st
		}
		p := problem{Status: status, Code: e.Key, Detail: v.P.T(e.Key, e.Args), Current: s.CurrentRow(err)}
		for _, x := range e.Problems {
			options, _ := x.Args[ArgOptions].([]string)
			p.Errors = append(p.Errors, fieldProblem{Field: x.Field, Message: v.P.T(x.Key, x.Args), Code: x.Key,
				Confirm: x.Soft, Options: options})
		}
		sendProblem(w, r, p)
	}
}

// ArgOptions is the argument of a problem that lists the answers to choose from.
const ArgOptions = "Options"
