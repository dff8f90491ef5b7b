package web

import (
	"encoding/json"
	"errors"
	"net/http"

	"reddside/internal/logbook"
)

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
}

type fieldProblem struct {
	Field   string `json:"field"`
	Message string `json:"message"`
	Code    string `json:"code"`
	// Confirm is true when the value is only surprising: send the field's name
	// in "confirm" to store it.
	Confirm bool `json:"confirm,omitempty"`
}

func writeProblem(w http.ResponseWriter, r *http.Request, status int, code, detail string, fields []fieldProblem) {
	w.Header().Set("Content-Type", "application/problem+json; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	if status == http.StatusUnauthorized {
		w.Header().Set("WWW-Authenticate", `Bearer realm="Reddside"`)
	}
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(problem{
		Type: "about:blank", Title: http.StatusText(status), Status: status, Detail: detail,
		Instance: visitOf(r).id, Code: code, Errors: fields,
	})
}

// failAPI answers an error as a problem document.
func (s *Server) failAPI(w http.ResponseWriter, r *http.Request, err error) {
	v := visitOf(r)
	status := statusOf(err)
	var e *logbook.Error
	switch {
	case status == http.StatusRequestEntityTooLarge:
		writeProblem(w, r, status, "error.too_large", v.p.T("error.too_large", logbook.Args{"Max": maxSize(r)}), nil)
	case status == http.StatusInternalServerError || !errors.As(err, &e):
		s.log.Error("request failed", "id", v.id, "err", err)
		writeProblem(w, r, http.StatusInternalServerError, "error.500", v.p.T("error.500"), nil)
	default:
		var fields []fieldProblem
		for _, p := range e.Problems {
			fields = append(fields, fieldProblem{Field: p.Field, Message: v.p.T(p.Key, p.Args), Code: p.Key, Confirm: p.Soft})
		}
		writeProblem(w, r, status, e.Key, v.p.T(e.Key, e.Args), fields)
	}
}
